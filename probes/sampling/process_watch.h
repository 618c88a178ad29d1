// SPDX-License-Identifier: Apache-2.0
//
// CPU time of this process with its children, and of the busiest others.

#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/telemetry.h"
#include "probes/procfs/proc_texts.h"

namespace probes {

/// Two speeds: OwnTicks and TopOther read a few files; Scan reads one for every process.
class ProcessWatch {
 public:
  /// `own_pid` is the process whose tree counts as ours; `helper_pid` (0: none)
  /// counts as ours too, what it started does not.
  ProcessWatch(const base::MachineRoot& root, int own_pid, int helper_pid = 0)
      : root_(root), own_pid_(own_pid), helper_pid_(helper_pid) {}

  /// Looks at every process; the first scan is where the others start from.
  void Scan();

  /// CPU time of our process, of its children that have ended, and of its
  /// descendants known from the last scan, in clock ticks. What a child used
  /// before a scan found it comes at once then. Nothing where our process cannot be read.
  std::optional<std::int64_t> OwnTicks() const;

  /// The other process that used most CPU since this was called last, of those
  /// that were the busiest at the last scan; nothing when none used any.
  std::optional<ProcessShare> TopOther(double ticks_per_second);

  /// At most `most` other processes by CPU time since the first scan (or their start).
  std::vector<ProcessShare> Busiest(std::size_t most, double ticks_per_second) const;

  /// CPU time of the kernel's own threads since the first scan, in clock ticks;
  /// nothing where they are not shown.
  std::optional<std::int64_t> KernelTicks() const;

  /// Notes how much every other process has had disks read and write. Slow: for
  /// the beginning and the end of a run.
  void LookAtDisks();
  /// At most `most` other processes by what they added between the first look
  /// at disks (or their start) and the last; nothing where none can be read.
  std::optional<std::vector<ProcessBytes>> DiskUsers(std::size_t most) const;

 private:
  struct Other {
    ProcessTicks latest;
    std::int64_t before = 0;                  // ticks when watching began
    std::int64_t seen = 0;                    // ticks when TopOther looked last
    bool kernel = false;                      // a thread of the kernel
    std::optional<std::int64_t> disk_before;  // bytes
    std::optional<std::int64_t> disk_latest;
  };

  using Key = std::pair<int, std::int64_t>;  // number and start

  void FindDescendants(const std::map<int, ProcessTicks>& processes);
  /// Those that used most of late, with the ticks that they used.
  void WatchClosely(std::vector<std::pair<std::int64_t, Key>> recent);

  const base::MachineRoot& root_;
  int own_pid_;
  int helper_pid_;
  bool disks_seen_ = false;
  bool scanned_ = false;
  std::set<int> descendants_;  // without own_pid_
  std::map<Key, Other> others_;
  std::vector<Key> busiest_;  // at the last scan
};

}  // namespace probes
