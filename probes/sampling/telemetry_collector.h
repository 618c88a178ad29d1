// SPDX-License-Identifier: Apache-2.0
//
// One telemetry sample after the other, from counters below /proc and /sys.

#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/cpu/cgroup.h"
#include "probes/data/telemetry.h"
#include "probes/sampling/process_watch.h"
#include "probes/sampling/telemetry_gauges.h"

namespace probes {

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

  /// The first call only notes where the counters stand. `wall_ns` is the wall
  /// clock at the same moment, where it is to be watched for steps.
  void Sample(std::int64_t now_ns, std::optional<std::int64_t> wall_ns = std::nullopt);

  /// Looks a last time at the slow counters. `period_s` and the cost are the caller's to fill.
  TelemetryRecord Finish();

 private:
  void LookAtProcesses(double seconds, TelemetrySample* sample);
  void LookAtClock(std::int64_t now_ns, std::optional<std::int64_t> wall_ns,
                   TelemetrySample* sample);
  bool TimeToScan(std::int64_t now_ns, const TelemetrySample* sample) const;
  std::optional<double> ThrottledSeconds() const;
  const std::string& NotRead(const std::string& what, const std::string& why);

  base::MachineRoot root_;
  CollectorRequest request_;
  ProcessWatch processes_;
  TelemetryRecord record_;
  std::vector<GaugePtr> gauges_;
  CpuGroups groups_;
  std::optional<double> throttled_before_s_;
  std::optional<std::int64_t> last_own_ticks_;
  bool told_own_missing_ = false;
  std::optional<std::int64_t> last_wall_ahead_ns_;  // wall clock minus monotonic clock
  bool begun_ = false;
  std::int64_t first_ns_ = 0;
  std::int64_t last_ns_ = 0;
  std::int64_t last_scan_ns_ = 0;
};

}  // namespace probes
