// SPDX-License-Identifier: Apache-2.0
//
// What others used over a whole run: CPU time and disks.

#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/telemetry.h"
#include "probes/procfs/process_table.h"

namespace probes {

/// Since `table` was begun, which it outlives; those that have ended meanwhile count too.
class ProcessSums {
 public:
  ProcessSums(const base::MachineRoot& root, ProcessTable& table,
              std::function<bool(int pid)> is_ours);

  /// At most `most` other processes by CPU time.
  std::vector<ProcessShare> Busiest(std::size_t most, double ticks_per_second) const;

  /// CPU time of the kernel's own threads, in clock ticks; nothing where they are not shown.
  std::optional<std::int64_t> KernelTicks() const;

  /// Notes how much every other process has had disks read and write. Slow: for
  /// the beginning and the end of a run.
  void LookAtDisks();
  /// At most `most` other processes by what they added between the first look
  /// at disks (or their start) and the last; nothing where none can be read.
  std::optional<std::vector<ProcessBytes>> DiskUsers(std::size_t most) const;

 private:
  struct DiskUse {
    ProcessBytes latest;
    double before = 0;
  };

  void ForEachOther(const std::function<void(const KnownProcess&)>& take) const;

  const base::MachineRoot& root_;
  const ProcessTable& table_;
  std::function<bool(int pid)> is_ours_;
  std::vector<KnownProcess> gone_;
  std::map<std::pair<int, std::int64_t>, DiskUse> disks_;  // by number and start
  bool disks_seen_ = false;
};

}  // namespace probes
