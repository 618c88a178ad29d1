// SPDX-License-Identifier: Apache-2.0
//
// The record of a run: samples in which this process and what it started are ours, and sums.

#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>

#include "base/system/machine_root.h"
#include "probes/cpu/cgroup.h"
#include "probes/data/telemetry.h"
#include "probes/sampling/process_sums.h"
#include "probes/sampling/sampler.h"

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
