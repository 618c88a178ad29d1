// SPDX-License-Identifier: Apache-2.0
//
// A thread that writes down what the PC is doing while it works.

#pragma once

#include <filesystem>
#include <thread>

#include "base/clock.h"
#include "base/machine_root.h"
#include "probes/data/telemetry.h"

namespace probes {

struct TelemetryRequest {
  double hz = 4;                 // clamped to 1..20
  std::filesystem::path folder;  // whose disk to watch; empty: none
};

/// Samples from its construction until Stop (or destruction). `root` is
/// copied; `clock` must outlive the sampler and be one that really waits.
class TelemetrySampler {
 public:
  TelemetrySampler(const base::MachineRoot& root, const TelemetryRequest& request,
                   base::Clock& clock);

  /// Ends the thread within 50 ms and gives what was sampled, with one last
  /// sample; a second call gives an empty record.
  TelemetryRecord Stop();

 private:
  TelemetryRecord record_;
  std::jthread thread_;
};

}  // namespace probes
