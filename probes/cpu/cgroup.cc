// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/cgroup.h"

#include <algorithm>

#include "base/text.h"
#include "probes/procfs/lines.h"
#include "probes/procfs/mount_table.h"

namespace probes {
namespace {

bool ListHolds(std::string_view list, std::string_view word) {
  const auto parts = base::Split(list, ',');
  return std::find(parts.begin(), parts.end(), word) != parts.end();
}

struct OwnGroups {
  std::optional<std::string> version1;  // of the controller
  std::optional<std::string> version2;
};

/// Lines "ID:controllers:path"; version 2 is ID 0 without controllers.
OwnGroups ParseOwnGroups(std::string_view text, std::string_view controller) {
  OwnGroups own;
  for (const std::string_view line : base::Split(text, '\n')) {
    const auto first = line.find(':');
    const auto second = first == std::string_view::npos ? first : line.find(':', first + 1);
    if (second == std::string_view::npos) {
      continue;
    }
    const std::string_view controllers = line.substr(first + 1, second - first - 1);
    const std::string path(line.substr(second + 1));
    if (controllers.empty() && line.substr(0, first) == "0") {
      own.version2 = path;
    } else if (ListHolds(controllers, controller)) {
      own.version1 = path;
    }
  }
  return own;
}

/// From the process's group up to the mount itself. The group's path counts
/// from the hierarchy's top, of which the mount may show only a part.
std::vector<std::string> FoldersUp(const Mount& mount, std::string path) {
  if (mount.root != "/" && path.starts_with(mount.root)) {
    path.erase(0, mount.root.size());
  } else if (mount.root != "/") {
    path.clear();
  }
  std::vector<std::string> folders;
  while (!path.empty() && path != "/" && path.find("..") == std::string::npos) {
    folders.push_back(mount.mount_point + path);
    path.erase(path.find_last_of('/'));
  }
  folders.push_back(mount.mount_point);
  return folders;
}

base::Result<ControlGroups> ReadGroups(const base::MachineRoot& root, std::string_view controller,
                                       const std::string& process) {
  const auto groups = root.Read("/proc/" + process + "/cgroup");
  if (!groups) {
    return groups.error();
  }
  const auto mounts = root.Read("/proc/self/mountinfo");
  if (!mounts) {
    return mounts.error();
  }
  return FindGroups(controller, *groups, *mounts);
}

}  // namespace

ControlGroups FindGroups(std::string_view controller, std::string_view cgroup_text,
                         std::string_view mountinfo_text) {
  const OwnGroups own = ParseOwnGroups(cgroup_text, controller);
  const std::vector<Mount> mounts = ParseMountInfo(mountinfo_text);
  for (const Mount& mount : mounts) {
    if (mount.filesystem == "cgroup" && own.version1 &&
        ListHolds(mount.super_options, controller)) {
      return {1, FoldersUp(mount, *own.version1)};
    }
  }
  for (const Mount& mount : mounts) {
    if (mount.filesystem == "cgroup2" && own.version2) {
      return {2, FoldersUp(mount, *own.version2)};
    }
  }
  return {};
}

base::Result<ControlGroups> ReadCpuGroups(const base::MachineRoot& root,
                                          const std::string& process) {
  return ReadGroups(root, "cpu", process);
}

base::Result<ControlGroups> ReadMemoryGroups(const base::MachineRoot& root,
                                             const std::string& process) {
  return ReadGroups(root, "memory", process);
}

base::Result<std::optional<double>> ParseCpuMax(std::string_view text) {
  const auto words = base::SplitWords(text);
  if (words.size() == 2) {
    const auto period = base::ParseInt(words[1]);
    const auto quota = base::ParseInt(words[0]);
    if (words[0] == "max" && period && *period > 0) {
      return std::optional<double>();
    }
    if (quota && period && *quota > 0 && *period > 0) {
      return std::optional<double>(static_cast<double>(*quota) / static_cast<double>(*period));
    }
  }
  return base::Error{base::ErrorKind::kMalformed, "cpu.max",
                     "found '" + base::Printable(text, 40) + "' where quota and period belong"};
}

std::optional<double> ReadCpuQuota(const base::MachineRoot& root, const CpuGroups& groups) {
  std::optional<double> tightest;
  const auto take = [&tightest](double cpus) {
    tightest = tightest ? std::min(*tightest, cpus) : cpus;
  };
  for (const std::string& folder : groups.folders) {
    if (groups.version == 2) {
      const auto text = root.Read(folder + "/cpu.max");
      const auto quota =
          text ? ParseCpuMax(*text) : base::Result<std::optional<double>>(text.error());
      if (quota && *quota) {
        take(**quota);
      }
      continue;
    }
    const auto quota_us = root.ReadInt(folder + "/cpu.cfs_quota_us");
    const auto period_us = root.ReadInt(folder + "/cpu.cfs_period_us");
    if (quota_us && period_us && *quota_us > 0 && *period_us > 0) {
      take(static_cast<double>(*quota_us) / static_cast<double>(*period_us));
    }
  }
  return tightest;
}

namespace {

/// Pages of files that nothing used lately: memory.stat of either version.
std::int64_t IdleFileBytes(const std::string& stat_text) {
  std::int64_t own = 0;
  std::optional<std::int64_t> total;  // version 1: with the groups below, as its usage counts
  ForEachLine(stat_text, [&](std::string_view line) {
    if (const auto all = NumberAfter(line, "total_inactive_file")) {
      total = *all;
    } else if (const auto value = NumberAfter(line, "inactive_file")) {
      own = *value;
    }
  });
  return total.value_or(own);
}

}  // namespace

std::optional<MemoryLimit> ReadMemoryLimit(const base::MachineRoot& root,
                                           const ControlGroups& groups) {
  const bool two = groups.version == 2;
  std::optional<MemoryLimit> tightest;
  for (const std::string& folder : groups.folders) {
    // "max" is no number; version 1 writes a number beyond any memory.
    constexpr std::int64_t kUnlimited = std::int64_t{1} << 60;
    const auto limit = root.ReadInt(folder + (two ? "/memory.max" : "/memory.limit_in_bytes"));
    const auto used = root.ReadInt(folder + (two ? "/memory.current" : "/memory.usage_in_bytes"));
    if (!limit || !used || *limit <= 0 || *limit >= kUnlimited || *used < 0) {
      continue;
    }
    const auto stat = root.Read(folder + "/memory.stat");
    // No more than is used at all: the two are read one after the other.
    const std::int64_t idle = stat ? std::clamp<std::int64_t>(IdleFileBytes(*stat), 0, *used) : 0;
    const MemoryLimit here{*limit, std::clamp<std::int64_t>(*limit - *used + idle, 0, *limit)};
    if (!tightest || here.free_bytes < tightest->free_bytes) {
      tightest = here;
    }
  }
  return tightest;
}

QuotaUse ParseQuotaUse(std::string_view cpu_stat_text) {
  QuotaUse use;
  ForEachLine(cpu_stat_text, [&use](std::string_view line) {
    if (const auto periods = NumberAfter(line, "nr_periods")) {
      use.periods = *periods;
    } else if (const auto throttled = NumberAfter(line, "nr_throttled")) {
      use.throttled_periods = *throttled;
    } else if (const auto us = NumberAfter(line, "throttled_usec")) {  // of version 2
      use.throttled_s = static_cast<double>(*us) / 1e6;
    } else if (const auto ns = NumberAfter(line, "throttled_time")) {  // of version 1
      use.throttled_s = static_cast<double>(*ns) / 1e9;
    }
  });
  return use;
}

std::optional<std::int64_t> ParseLimitHits(std::string_view text) {
  if (const auto single = base::ParseInt(base::Trim(text))) {
    return *single;
  }
  std::optional<std::int64_t> hits;
  ForEachLine(text, [&hits](std::string_view line) {
    for (const std::string_view name : {"max", "high"}) {
      if (const auto count = NumberAfter(line, name)) {
        hits = hits.value_or(0) + *count;
      }
    }
  });
  return hits;
}

}  // namespace probes
