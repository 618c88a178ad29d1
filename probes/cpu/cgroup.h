// SPDX-License-Identifier: Apache-2.0
//
// The control groups above this process, and the CPU quota that they set.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/system/machine_root.h"

namespace probes {

/// Folders of one controller's groups, own group first, up to its mount.
struct ControlGroups {
  int version = 2;
  std::vector<std::string> folders;
};
using CpuGroups = ControlGroups;

/// The groups of `controller` ("cpu", "memory") told by the texts of
/// /proc/self/cgroup and /proc/self/mountinfo. Version 1 wins where a machine
/// has the controller there. Empty folders when there is none.
ControlGroups FindGroups(std::string_view controller, std::string_view cgroup_text,
                         std::string_view mountinfo_text);
/// Those above `process`: "self", or a number.
base::Result<ControlGroups> ReadCpuGroups(const base::MachineRoot& root,
                                          const std::string& process = "self");
base::Result<ControlGroups> ReadMemoryGroups(const base::MachineRoot& root,
                                             const std::string& process = "self");

/// "max 100000" or "150000 100000" -> CPUs; nothing inside when unlimited.
base::Result<std::optional<double>> ParseCpuMax(std::string_view text);

/// The tightest quota in CPUs over all groups; nothing when none sets one.
std::optional<double> ReadCpuQuota(const base::MachineRoot& root, const CpuGroups& groups);

/// What the groups let their processes have of the memory; nothing when none sets a limit.
struct MemoryLimit {
  std::int64_t limit_bytes = 0;
  std::int64_t free_bytes = 0;  // until the limit is met; pages of files that may go count as free
};
std::optional<MemoryLimit> ReadMemoryLimit(const base::MachineRoot& root,
                                           const ControlGroups& groups);

/// Of cpu.stat of either version; absent where it does not tell.
struct QuotaUse {
  /// Time for which the quota held the group back, added up over CPUs by the kernel.
  std::optional<double> throttled_s;
  std::optional<std::int64_t> periods;
  std::int64_t throttled_periods = 0;
};
QuotaUse ParseQuotaUse(std::string_view cpu_stat_text);

/// Times that a memory group met its limit: memory.events of version 2 ("max"
/// and "high"), or the single number of version 1's memory.failcnt.
std::optional<std::int64_t> ParseLimitHits(std::string_view text);

}  // namespace probes
