// SPDX-License-Identifier: Apache-2.0
//
// The record of a run: samples in which this process and what it started are ours, and sums.

#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/cpu/cgroup.h"
#include "probes/data/telemetry.h"
#include "probes/procfs/process_table.h"
#include "probes/sampling/sampler.h"

namespace probes {

/// What others used of CPUs and disks since `table` was begun; those that have ended meanwhile
/// count too. The table outlives it.
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

/// What to count, and in whose name.
struct CollectorRequest {
  int own_pid = 0;
  int helper_pid = 0;  // counts as ours, what it started does not; 0: none
  double ticks_per_second = 100;
  std::filesystem::path folder;  // whose disk to watch; empty: none
  std::int64_t start_ns = 0;     // where `at_s` counts from
  std::string writer_prefix;     // names of our threads that write files begin with it; empty: none
  bool own_sockets = false;      // `own_pid` is this process: its sockets can be asked
};

/// Not a thread: the caller says when.
class TelemetryCollector {
 public:
  TelemetryCollector(const base::MachineRoot& root, const CollectorRequest& request);
  TelemetryCollector(const TelemetryCollector&) = delete;
  TelemetryCollector& operator=(const TelemetryCollector&) = delete;

  /// The first call only notes where the counters stand.
  void Sample(const TimeMoment& moment);

  /// Looks a last time at the slow counters. `period_s` and the cost are the caller's to fill.
  TelemetryRecord Finish();

 private:
  SamplerRequest Sampling(const base::MachineRoot& root);
  const std::string& NotRead(const std::string& what, const std::string& why);
  std::optional<double> ThrottledSeconds() const;

  CollectorRequest request_;
  TelemetryRecord record_;
  Sampler sampler_;
  ProcessSums sums_;
  CpuGroups groups_;
  std::optional<double> throttled_before_s_;
  std::optional<std::int64_t> first_ns_;
  std::int64_t last_ns_ = 0;
};

}  // namespace probes
