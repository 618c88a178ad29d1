// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu_topology.h"

#include <hwloc.h>
#include <stdlib.h>

#include <algorithm>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <tuple>
#include <type_traits>
#include <utility>

#include "base/text.h"

namespace probes {
namespace {

constexpr int kMostCpus = 65535;

struct DestroyTopology {
  void operator()(hwloc_topology_t topology) const { hwloc_topology_destroy(topology); }
};
using TopologyHandle = std::unique_ptr<std::remove_pointer_t<hwloc_topology_t>, DestroyTopology>;

struct FreeBitmap {
  void operator()(hwloc_bitmap_t bitmap) const { hwloc_bitmap_free(bitmap); }
};
using BitmapHandle = std::unique_ptr<std::remove_pointer_t<hwloc_bitmap_t>, FreeBitmap>;

/// Sets environment variables (or clears them: no value) and puts back what was there.
class ScopedEnvironment {
 public:
  using Setting = std::pair<std::string, std::optional<std::string>>;

  explicit ScopedEnvironment(const std::vector<Setting>& settings) {
    for (const auto& [name, value] : settings) {
      const char* before = getenv(name.c_str());
      before_.emplace_back(name,
                           before == nullptr ? std::nullopt : std::optional<std::string>(before));
      Put(name, value);
    }
  }
  ~ScopedEnvironment() {
    for (const auto& [name, value] : before_) {
      Put(name, value);
    }
  }
  ScopedEnvironment(const ScopedEnvironment&) = delete;
  ScopedEnvironment& operator=(const ScopedEnvironment&) = delete;

 private:
  static void Put(const std::string& name, const std::optional<std::string>& value) {
    if (value) {
      setenv(name.c_str(), value->c_str(), 1);
    } else {
      unsetenv(name.c_str());
    }
  }

  std::vector<Setting> before_;
};

/// Null when hwloc cannot make sense of the machine.
TopologyHandle LoadTopology() {
  hwloc_topology_t raw = nullptr;
  if (hwloc_topology_init(&raw) != 0) {
    return nullptr;
  }
  TopologyHandle topology(raw);
  // CPUID would describe the machine we run on, not the one that is read; without it a PC and
  // its capture go the same way. What this process may use is a separate reading.
  hwloc_topology_set_components(raw, HWLOC_TOPOLOGY_COMPONENTS_FLAG_BLACKLIST, "x86");
  hwloc_topology_set_icache_types_filter(raw, HWLOC_TYPE_FILTER_KEEP_ALL);
  hwloc_topology_set_flags(raw, HWLOC_TOPOLOGY_FLAG_INCLUDE_DISALLOWED);
  if (hwloc_topology_load(raw) != 0) {
    return nullptr;
  }
  return topology;
}

TopologyHandle LoadTopologyOf(const base::MachineRoot& root) {
  if (root.live()) {
    return LoadTopology();
  }
  static std::mutex one_at_a_time;
  const std::scoped_lock lock(one_at_a_time);
  const ScopedEnvironment environment({{"HWLOC_FSROOT", root.folder().string()},
                                       {"HWLOC_THISSYSTEM", "0"},
                                       {"HWLOC_COMPONENTS", "linux,stop"},
                                       {"HWLOC_HIDE_ERRORS", "2"},
                                       {"HWLOC_XMLFILE", std::nullopt},
                                       {"HWLOC_SYNTHETIC", std::nullopt}});
  return LoadTopology();
}

int CountOf(hwloc_topology_t topology, hwloc_obj_type_t type) {
  return std::max(0, hwloc_get_nbobjs_by_type(topology, type));
}

std::string CacheTypeName(hwloc_obj_cache_type_t type) {
  switch (type) {
    case HWLOC_OBJ_CACHE_DATA:
      return "data";
    case HWLOC_OBJ_CACHE_INSTRUCTION:
      return "instruction";
    default:
      return "unified";
  }
}

std::vector<CpuCache> CachesOf(hwloc_topology_t topology) {
  std::map<std::tuple<int, std::string, std::int64_t>, int> counts;
  for (int type = HWLOC_OBJ_L1CACHE; type <= HWLOC_OBJ_L3ICACHE; ++type) {
    hwloc_obj_t cache = nullptr;
    while ((cache = hwloc_get_next_obj_by_type(topology, static_cast<hwloc_obj_type_t>(type),
                                               cache)) != nullptr) {
      const auto& attributes = cache->attr->cache;
      ++counts[{static_cast<int>(attributes.depth), CacheTypeName(attributes.type),
                static_cast<std::int64_t>(attributes.size)}];
    }
  }
  std::vector<CpuCache> caches;
  for (const auto& [key, count] : counts) {
    const auto& [level, type, size] = key;
    caches.push_back({level, type, size, count});
  }
  return caches;
}

/// hwloc orders kinds from the least to the most powerful, when it can tell.
std::string KindName(int index, int kinds, int efficiency) {
  if (kinds < 2 || efficiency < 0) {
    return "core";
  }
  if (index == kinds - 1) {
    return "performance";
  }
  return index == 0 ? "efficient" : "middle";
}

CpuTopology::Kind KindOf(hwloc_topology_t topology, std::string name, hwloc_const_bitmap_t cpus) {
  CpuTopology::Kind kind;
  kind.name = std::move(name);
  kind.cores = std::max(0, hwloc_get_nbobjs_inside_cpuset_by_type(topology, cpus, HWLOC_OBJ_CORE));
  for (int cpu = hwloc_bitmap_first(cpus); cpu >= 0; cpu = hwloc_bitmap_next(cpus, cpu)) {
    kind.cpus.push_back(cpu);
  }
  return kind;
}

std::vector<CpuTopology::Kind> KindsOf(hwloc_topology_t topology) {
  std::vector<CpuTopology::Kind> kinds;
  const int count = hwloc_cpukinds_get_nr(topology, 0);
  if (count < 2) {
    kinds.push_back(KindOf(topology, "core", hwloc_topology_get_topology_cpuset(topology)));
    return kinds;
  }
  for (int index = count - 1; index >= 0; --index) {
    const BitmapHandle cpus(hwloc_bitmap_alloc());
    int efficiency = -1;
    if (hwloc_cpukinds_get_info(topology, static_cast<unsigned>(index), cpus.get(), &efficiency,
                                nullptr, nullptr, 0) == 0) {
      kinds.push_back(KindOf(topology, KindName(index, count, efficiency), cpus.get()));
    }
  }
  return kinds;
}

/// hwloc falls back on the processors of the PC it runs on when the root
/// shows none, and allocates for whatever number a file claims: look first.
base::Status CheckRoot(const base::MachineRoot& root) {
  static constexpr std::string_view kFolder = "/sys/devices/system/cpu";
  const auto names = root.List(kFolder);
  if (!names) {
    return names.error();
  }
  bool any = false;
  for (const std::string& name : *names) {
    const auto number = name.starts_with("cpu") ? base::ParseInt(name.substr(3)) : std::nullopt;
    if (!number) {
      continue;
    }
    if (*number < 0 || *number > kMostCpus) {
      return base::Error{base::ErrorKind::kMalformed, std::string(kFolder),
                         "a processor number above 65535"};
    }
    any = any || root.Exists(std::string(kFolder) + "/" + name + "/topology");
  }
  if (!any) {
    return base::Error{base::ErrorKind::kNotPresent, std::string(kFolder),
                       "no processor with a topology folder"};
  }
  const auto online = root.ReadTrimmed(std::string(kFolder) + "/online");
  if (online) {
    const auto cpus = ParseCpuList(*online);
    if (!cpus) {
      return cpus.error();
    }
  }
  return base::Done{};
}

}  // namespace

base::Result<std::vector<int>> ParseCpuList(std::string_view text) {
  const base::Error malformed{
      base::ErrorKind::kMalformed, "processor list",
      "found '" + base::Printable(text, 40) + "' where a list such as 0-3,8 was expected"};
  std::vector<int> cpus;
  const std::string_view trimmed = base::Trim(text);
  if (trimmed.empty()) {
    return cpus;
  }
  for (const std::string_view part : base::Split(trimmed, ',')) {
    const auto dash = part.find('-');
    const auto first = base::ParseInt(part.substr(0, dash));
    const auto last =
        dash == std::string_view::npos ? first : base::ParseInt(part.substr(dash + 1));
    if (!first || !last || *first < 0 || *last < *first || *last > kMostCpus ||
        cpus.size() > kMostCpus) {
      return malformed;
    }
    for (std::int64_t cpu = *first; cpu <= *last; ++cpu) {
      cpus.push_back(static_cast<int>(cpu));
    }
  }
  return cpus;
}

base::Result<CpuTopology> ReadCpuTopology(const base::MachineRoot& root) {
  const auto checked = CheckRoot(root);
  if (!checked) {
    return checked.error();
  }
  const TopologyHandle topology = LoadTopologyOf(root);
  if (topology == nullptr) {
    return base::Error{base::ErrorKind::kMalformed, "/sys/devices/system/cpu",
                       "hwloc cannot make a topology of it"};
  }
  CpuTopology found;
  found.packages = CountOf(topology.get(), HWLOC_OBJ_PACKAGE);
  found.cores = CountOf(topology.get(), HWLOC_OBJ_CORE);
  found.threads = CountOf(topology.get(), HWLOC_OBJ_PU);
  found.numa_nodes = CountOf(topology.get(), HWLOC_OBJ_NUMANODE);
  found.kinds = KindsOf(topology.get());
  found.caches = CachesOf(topology.get());
  return found;
}

}  // namespace probes
