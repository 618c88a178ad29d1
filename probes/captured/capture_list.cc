// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/capture_list.h"

#include <filesystem>
#include <system_error>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/captured/capture_admission.h"
#include "probes/captured/unpack_archive.h"

namespace probes {
namespace {

namespace fs = std::filesystem;

constexpr int kMostLinks = 40;  // as the kernel's own limit on a path

/// Of the path itself: a link is a link.
fs::file_type TypeOf(const base::MachineRoot& root, const std::string& path) {
  std::error_code code;
  const std::string host = root.live() ? path : root.folder().string() + path;
  return fs::symlink_status(host, code).type();
}

/// Folders there are made of what runs: control groups are called by services and users.
bool IsOfKernel(std::string_view folder) {
  return folder.starts_with("/proc") || folder.starts_with("/sys");
}

void PushParts(std::vector<std::string>& pending, std::string_view path) {
  const auto parts = base::Split(path, '/');
  for (auto part = parts.rbegin(); part != parts.rend(); ++part) {
    if (!part->empty() && *part != ".") {
      pending.emplace_back(*part);
    }
  }
}

/// From the folder of `link` to the absolute `target`, both inside the machine.
std::string RelativeTo(const std::string& link, const std::string& target) {
  return fs::path(target).lexically_relative(fs::path(link).parent_path()).string();
}

}  // namespace

/// The link at `path`, its target as it is or made relative; nothing when it is broken.
std::optional<CaptureEntry> CaptureList::LinkAt(const std::string& path) const {
  std::error_code code;
  const std::string host = root_.live() ? path : root_.folder().string() + path;
  std::string target = fs::read_symlink(host, code).string();
  if (code) {
    return std::nullopt;
  }
  if (!LinkStaysInside(path.substr(1), target)) {
    const auto resolved = root_.Resolve(path);
    if (!resolved) {
      return std::nullopt;
    }
    target = RelativeTo(path, *resolved);
  }
  return CaptureEntry{CaptureEntry::Type::kLink, target};
}

void CaptureList::Add(std::string_view path) {
  std::vector<std::string> pending;
  PushParts(pending, path);
  if (!pending.empty() && pending.back() == "proc") {
    AddProc(path.starts_with('/') ? std::string(path) : "/" + std::string(path));
    return;
  }
  // Taken when it is known to lead to what may be taken: a link tells where it leads.
  std::map<std::string, CaptureEntry> way;
  std::string walked;
  int links = 0;
  while (!pending.empty()) {
    const std::string part = std::move(pending.back());
    pending.pop_back();
    if (part == "..") {
      walked.erase(std::min(walked.size(), walked.find_last_of('/')));
      continue;
    }
    const std::string here = fmt::format("{}/{}", walked, part);
    const fs::file_type type = TypeOf(root_, here);
    if (type == fs::file_type::symlink) {
      const auto link = LinkAt(here);
      if (!link || ++links > kMostLinks) {
        return;
      }
      way[here] = *link;
      PushParts(pending, link->target);
    } else if (type == fs::file_type::directory) {
      way.try_emplace(here, CaptureEntry{CaptureEntry::Type::kFolder, ""});
      walked = here;
    } else {
      // A unit that is linked to the null device is off: the link must lead somewhere.
      const bool nothing = here == kNullDevice && type == fs::file_type::character;
      const bool file = type == fs::file_type::regular || nothing;
      if (file && pending.empty() && MayBeCaptured(here)) {
        way[here] = {CaptureEntry::Type::kFile, ""};
        Take(way);
      }
      return;
    }
  }
  const bool admitted = MayBeCaptured(walked + "/");
  // Elsewhere a folder tells by being there (where an overlay writes), and nothing in it does.
  if (admitted || !IsOfKernel(walked)) {
    Take(way);
  }
  if (admitted) {
    AddChildren(walked);
  }
}

void CaptureList::Take(const std::map<std::string, CaptureEntry>& way) {
  for (const auto& [path, entry] : way) {
    if (entry.type == CaptureEntry::Type::kFolder) {
      entries_.try_emplace(path, entry);
    } else {
      entries_[path] = entry;
    }
  }
}

void CaptureList::AddProc(const std::string& path) {
  if (!MayBeCaptured(path) || TypeOf(root_, path) != fs::file_type::regular) {
    return;
  }
  for (auto slash = path.find('/', 1); slash != std::string::npos;
       slash = path.find('/', slash + 1)) {
    const std::string folder = path.substr(0, slash);
    if (IsOfProcess(folder) && TypeOf(root_, folder) != fs::file_type::directory) {
      return;
    }
  }
  for (auto slash = path.find('/', 1); slash != std::string::npos;
       slash = path.find('/', slash + 1)) {
    AddEmptyFolder(path.substr(0, slash));
  }
  entries_[path] = {CaptureEntry::Type::kFile, ""};
}

/// A folder's links and folders tell by being there (slaves, devices of a bus).
void CaptureList::AddChildren(const std::string& folder) {
  for (const std::string& name : root_.List(folder).value_or({})) {
    const std::string child = fmt::format("{}/{}", folder, name);
    const fs::file_type type = TypeOf(root_, child);
    if (type == fs::file_type::directory) {
      entries_.try_emplace(child, CaptureEntry{CaptureEntry::Type::kFolder, ""});
    } else if (type == fs::file_type::symlink) {
      const auto link = LinkAt(child);
      if (link &&
          MayBeCaptured(fs::path(folder + "/" + link->target).lexically_normal().string())) {
        entries_[child] = *link;
      }
    }
  }
}

void CaptureList::AddFilesIn(const std::string& folder) {
  for (const std::string& name : root_.List(folder).value_or({})) {
    const std::string child = fmt::format("{}/{}", folder, name);
    if (TypeOf(root_, child) == fs::file_type::regular) {
      Add(child);
    }
  }
}

void CaptureList::AddTopologyFiles() {
  static const std::string cpu_folder = "/sys/devices/system/cpu";
  AddFilesIn(cpu_folder);
  for (const std::string& cpu : root_.List(cpu_folder).value_or({})) {
    if (!cpu.starts_with("cpu") || !base::ParseInt(cpu.substr(3))) {
      continue;
    }
    const std::string folder = fmt::format("{}/{}", cpu_folder, cpu);
    AddFilesIn(folder);
    AddFilesIn(folder + "/topology");
    for (const std::string& cache : root_.List(folder + "/cache").value_or({})) {
      AddFilesIn(fmt::format("{}/cache/{}", folder, cache));
    }
    // hwloc ranks kinds of core by these.
    for (const char* file : {"cpuinfo_max_freq", "base_frequency", "scaling_driver"}) {
      Add(fmt::format("{}/cpufreq/{}", folder, file));
    }
  }
  static const std::string node_folder = "/sys/devices/system/node";
  AddFilesIn(node_folder);
  for (const std::string& node : root_.List(node_folder).value_or({})) {
    for (const char* file : {"cpumap", "cpulist", "meminfo", "distance"}) {
      Add(fmt::format("{}/{}/{}", node_folder, node, file));
    }
  }
  for (const char* file : {"/sys/devices/cpu_core/cpus", "/sys/devices/cpu_atom/cpus",
                           "/sys/devices/cpu_lowpower/cpus", "/proc/cpuinfo", "/proc/meminfo"}) {
    Add(file);
  }
}

}  // namespace probes
