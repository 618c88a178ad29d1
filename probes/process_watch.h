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

#include "base/machine_root.h"
#include "probes/data/telemetry.h"
#include "probes/proc_texts.h"

namespace probes {

/// Two speeds: OwnTicks and TopOther read a few files; Scan reads one for every process.
class ProcessWatch {
 public:
  /// `own_pid` is the process whose tree counts as ours.
  ProcessWatch(const base::MachineRoot& root, int own_pid) : root_(root), own_pid_(own_pid) {}

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

 private:
  struct Other {
    ProcessTicks latest;
    std::int64_t before = 0;  // ticks when watching began
    std::int64_t seen = 0;    // ticks when TopOther looked last
  };

  void FindDescendants(const std::map<int, ProcessTicks>& processes);

  using Key = std::pair<int, std::int64_t>;  // number and start

  const base::MachineRoot& root_;
  int own_pid_;
  bool scanned_ = false;
  std::set<int> descendants_;  // without own_pid_
  std::map<Key, Other> others_;
  std::vector<Key> busiest_;  // at the last scan
};

}  // namespace probes
