// SPDX-License-Identifier: Apache-2.0
//
// A thread that writes down what the PC is doing while it works.

#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <thread>

#include "base/clock.h"
#include "base/system/machine_root.h"
#include "probes/data/telemetry.h"

namespace probes {

struct TelemetryRequest {
  double hz = 4;                 // clamped to 1..20
  std::filesystem::path folder;  // whose disk to watch; empty: none
  std::string writer_prefix;     // names of our threads that write files begin with it
};

/// Samples from its construction, where `at_s` is zero, until Stop or its
/// end. `root` is copied; `clock` must outlive the sampler and really wait.
class TelemetrySampler {
 public:
  TelemetrySampler(const base::MachineRoot& root, const TelemetryRequest& request,
                   base::Clock& clock);

  /// Ends the thread, within 120 ms and a sample, and gives what was sampled.
  /// A second call gives an empty record.
  TelemetryRecord Stop();

 private:
  TelemetryRecord record_;  // the thread's until it has ended
  std::jthread thread_;
};

/// Moves the record's zero to `zero_ns` of the monotonic clock, that of what ran
/// beside it. Samples from before are left out.
void CountFrom(TelemetryRecord& record, std::int64_t zero_ns);

}  // namespace probes
