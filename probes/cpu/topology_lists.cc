// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/topology_lists.h"

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/cpu/topology.h"

namespace probes {
namespace {

using base::Error;
using base::ErrorKind;
using base::MachineRoot;
using base::Status;

constexpr std::string_view kCpuFolder = "/sys/devices/system/cpu";
constexpr std::string_view kNodeFolder = "/sys/devices/system/node";
constexpr int kMostCpus = 65535;
/// NODES_SHIFT is at most 10 (Linux, arch/x86/Kconfig and arch/arm64/Kconfig).
constexpr int kMostNodes = 1023;
constexpr std::size_t kBitsPerGroup = 32;
constexpr std::size_t kDigitsPerGroup = 8;

constexpr std::array kCpuLists = {"online", "possible", "present", "offline", "isolated"};
constexpr std::array kNodeLists = {"online", "possible", "has_cpu", "has_memory",
                                   "has_normal_memory"};
constexpr std::array kListsOfKinds = {"/sys/devices/cpu_core/cpus", "/sys/devices/cpu_atom/cpus",
                                      "/sys/devices/cpu_lowpower/cpus"};
constexpr std::array kMaps = {"core_cpus", "core_siblings", "thread_siblings", "package_cpus",
                              "die_cpus",  "cluster_cpus",  "book_siblings",   "drawer_siblings"};

Error At(const std::string& path, const std::string& detail) {
  return {ErrorKind::kMalformed, path, detail};
}

/// Kernels of some years ago ended some lists with one.
std::string_view WithoutZeroByte(std::string_view text) {
  if (text.ends_with('\0')) {
    text.remove_suffix(1);
  }
  return base::Trim(text);
}

/// What is not there, or closed to us, hwloc does without.
Status Unread(const Error& error) {
  const bool absent = error.kind == ErrorKind::kNotPresent || error.kind == ErrorKind::kDenied;
  return absent ? Status(base::Done{}) : error;
}

Status CheckList(const MachineRoot& root, const std::string& path, int most) {
  const auto text = root.ReadTrimmed(path);
  if (!text) {
    return Unread(text.error());
  }
  const auto numbers = ParseCpuList(WithoutZeroByte(*text));
  if (!numbers) {
    return At(path, numbers.error().detail);
  }
  const bool fits =
      std::all_of(numbers->begin(), numbers->end(), [most](int number) { return number <= most; });
  return fits ? Status(base::Done{}) : At(path, "a number above " + std::to_string(most));
}

Status CheckMap(const MachineRoot& root, const std::string& path) {
  const auto text = root.ReadTrimmed(path);
  if (!text) {
    return Unread(text.error());
  }
  const Status map = CheckCpuMap(WithoutZeroByte(*text));
  return map ? map : At(path, map.error().detail);
}

/// The number of "cpu12" or "node1"; nothing for other names.
std::optional<std::int64_t> NumberOf(const std::string& name, std::string_view what) {
  return name.starts_with(what) ? base::ParseInt(std::string_view(name).substr(what.size()))
                                : std::nullopt;
}

Status CheckCpu(const MachineRoot& root, const std::string& folder) {
  for (const char* map : kMaps) {
    if (Status checked = CheckMap(root, folder + "/topology/" + map); !checked) {
      return checked;
    }
  }
  for (const std::string& cache : root.List(folder + "/cache").value_or({})) {
    const std::string map = fmt::format("{}/cache/{}/shared_cpu_map", folder, cache);
    if (Status checked = CheckMap(root, map); !checked) {
      return checked;
    }
  }
  return base::Done{};
}

Status CheckCpus(const MachineRoot& root) {
  for (const std::string& name : root.List(kCpuFolder).value_or({})) {
    if (!NumberOf(name, "cpu")) {
      continue;
    }
    if (Status checked = CheckCpu(root, std::string(kCpuFolder) + "/" + name); !checked) {
      return checked;
    }
  }
  return base::Done{};
}

Status CheckNodes(const MachineRoot& root) {
  for (const char* list : kNodeLists) {
    const std::string path = std::string(kNodeFolder) + "/" + list;
    if (Status checked = CheckList(root, path, kMostNodes); !checked) {
      return checked;
    }
  }
  for (const std::string& name : root.List(kNodeFolder).value_or({})) {
    const auto number = NumberOf(name, "node");
    if (!number) {
      continue;
    }
    if (*number < 0 || *number > kMostNodes) {
      return At(std::string(kNodeFolder), "a node number above " + std::to_string(kMostNodes));
    }
    const std::string folder = std::string(kNodeFolder) + "/" + name;
    Status checked = CheckMap(root, folder + "/cpumap");
    if (checked) {
      checked = CheckList(root, folder + "/cpulist", kMostCpus);
    }
    if (!checked) {
      return checked;
    }
  }
  return base::Done{};
}

}  // namespace

Status CheckCpuMap(std::string_view text) {
  const auto groups = base::Split(base::Trim(text), ',');
  const bool fits = groups.size() <= (kMostCpus + 1) / kBitsPerGroup;
  const bool plain =
      fits && std::all_of(groups.begin(), groups.end(), [](std::string_view group) {
        return !group.empty() && group.size() <= kDigitsPerGroup &&
               group.find_first_not_of("0123456789abcdefABCDEF") == std::string_view::npos;
      });
  return plain ? Status(base::Done{})
               : Error{ErrorKind::kMalformed, "processor map",
                       "found '" + base::Printable(text, 40) +
                           "' where a map such as ff,ffffffff was expected"};
}

Status CheckProcessors(const MachineRoot& root) {
  const auto names = root.List(kCpuFolder);
  if (!names) {
    return names.error();
  }
  bool any = false;
  for (const std::string& name : *names) {
    const auto number = NumberOf(name, "cpu");
    if (!number) {
      continue;
    }
    if (*number < 0 || *number > kMostCpus) {
      return At(std::string(kCpuFolder), "a processor number above 65535");
    }
    any = any || root.Exists(std::string(kCpuFolder) + "/" + name + "/topology");
  }
  return any ? Status(base::Done{})
             : Error{ErrorKind::kNotPresent, std::string(kCpuFolder),
                     "no processor with a topology folder"};
}

Status CheckTopologyLists(const MachineRoot& root) {
  if (Status checked = CheckProcessors(root); !checked) {
    return checked;
  }
  for (const char* list : kCpuLists) {
    const std::string path = std::string(kCpuFolder) + "/" + list;
    if (Status checked = CheckList(root, path, kMostCpus); !checked) {
      return checked;
    }
  }
  for (const char* list : kListsOfKinds) {
    if (Status checked = CheckList(root, list, kMostCpus); !checked) {
      return checked;
    }
  }
  if (Status checked = CheckCpus(root); !checked) {
    return checked;
  }
  return CheckNodes(root);
}

}  // namespace probes
