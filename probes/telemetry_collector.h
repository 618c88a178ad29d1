// SPDX-License-Identifier: Apache-2.0
//
// One telemetry sample after the other, from counters below /proc and /sys.

#pragma once

#include <array>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/machine_root.h"
#include "probes/cgroup.h"
#include "probes/data/telemetry.h"
#include "probes/proc_texts.h"
#include "probes/process_watch.h"

namespace probes {

/// What to count, and in whose name.
struct CollectorRequest {
  int own_pid = 0;
  double ticks_per_second = 100;
  std::filesystem::path folder;  // whose disk to watch; empty: none
  std::int64_t start_ns = 0;     // where `at_s` counts from
};

/// Not a thread: the caller says when. Differences of counters that run
/// backwards (a CPU that went offline, steal corrections) count as zero.
class TelemetryCollector {
 public:
  TelemetryCollector(const base::MachineRoot& root, const CollectorRequest& request);
  TelemetryCollector(const TelemetryCollector&) = delete;
  TelemetryCollector& operator=(const TelemetryCollector&) = delete;

  /// The first call only notes where the counters stand.
  void Sample(std::int64_t now_ns);

  /// Looks a last time at the slow counters. `period_s` and the cost are the caller's to fill.
  TelemetryRecord Finish();

 private:
  struct Counters {
    std::optional<CpuTicks> cpu;
    std::int64_t own_ticks = 0;
    std::array<std::optional<std::int64_t>, 3> pressure_us;  // cpu, io, memory
    std::optional<std::int64_t> sectors_written;
  };

  Counters ReadCounters();
  void FindDisk(const std::filesystem::path& folder);
  std::optional<double> MeanMhz() const;
  std::optional<double> DirtyBytes() const;
  std::optional<double> ThrottledSeconds() const;
  void NotRead(const std::string& what, const std::string& why);

  base::MachineRoot root_;
  CollectorRequest request_;
  ProcessWatch processes_;
  std::string disk_;  // name in diskstats; empty: none
  std::vector<std::string> frequency_files_;
  std::vector<int> cpus_;
  CpuGroups groups_;
  std::optional<std::int64_t> throttle_before_;
  std::optional<double> throttled_before_s_;
  std::optional<Counters> last_;
  std::int64_t last_ns_ = 0;
  std::int64_t last_scan_ns_ = 0;
  TelemetryRecord record_;
};

}  // namespace probes
