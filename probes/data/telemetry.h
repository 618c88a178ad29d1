// SPDX-License-Identifier: Apache-2.0
//
// What the sampler wrote down while the PC worked.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace probes {

/// One sample: means over the time since the sample before.
struct TelemetrySample {
  double at_s = 0;        // since the recording began
  double busy_cpus = 0;   // all processes, in CPUs (2.0 = two CPUs full)
  double own_cpus = 0;    // this process and its children
  double steal_cpus = 0;  // taken by the host
  std::optional<double> mean_mhz;
  std::optional<double> disk_write_bytes_per_second;
  std::optional<double> dirty_bytes;
  std::optional<double> cpu_pressure_percent;  // PSI "some"
  std::optional<double> io_pressure_percent;
  std::optional<double> memory_pressure_percent;
};

struct ProcessShare {
  std::string name;
  int pid = 0;
  double cpu_seconds = 0;
};

struct TelemetryRecord {
  double period_s = 0;
  double cost_cpu_seconds = 0;         // what sampling itself took
  std::int64_t throttle_events = 0;    // added during the run
  double quota_throttled_seconds = 0;  // time a cgroup quota held us back
  std::vector<TelemetrySample> samples;
  std::vector<ProcessShare> others;   // busiest other processes, at most eight
  std::vector<std::string> not_read;  // what could not be sampled, and why
};

}  // namespace probes
