// SPDX-License-Identifier: Apache-2.0
//
// Who used the CPUs while the rehearsal was judged.

#pragma once

#include <optional>

#include "base/reading.h"
#include "bench/data/results.h"
#include "probes/data/telemetry.h"

namespace report {

/// In CPUs (2.0 = two full). Means over the judged samples, and the median of
/// what others took: a burst of theirs is not what they use.
struct CpuUse {
  double own = 0;         // the production's: ours less what simulating took
  double simulation = 0;  // senders of network sources, receivers of streams
  base::Reading<double> others;
  base::Reading<double> steal_mean;
  double steal_worst = 0;  // where `steal_mean` was read
  bool own_from_telemetry = false;

  /// By other programs and the host.
  base::Reading<double> Taken() const;
};

/// Telemetry samples after the warm-up; where those have no own use it is the process's
/// CPU time over the run. Nothing when nothing ran, or when neither was read.
std::optional<CpuUse> JudgedCpuUse(const bench::Results& results,
                                   const std::optional<probes::TelemetryRecord>& telemetry);

}  // namespace report
