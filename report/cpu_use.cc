// SPDX-License-Identifier: Apache-2.0
//
// CPU shares from telemetry samples.

#include "report/cpu_use.h"

#include <algorithm>
#include <vector>

#include "base/percentile.h"

namespace report {

std::optional<CpuUse> JudgedCpuUse(const bench::Results& results,
                                   const std::optional<probes::TelemetryRecord>& telemetry) {
  if (!results.rehearsal) {
    return std::nullopt;
  }
  const bench::Rehearsal& rehearsal = *results.rehearsal;
  CpuUse use;
  std::vector<double> own;
  std::vector<double> others;
  std::vector<double> steal;
  if (telemetry) {
    for (const probes::TelemetrySample& sample : telemetry->samples) {
      if (sample.at_s <= rehearsal.warm_up_seconds || sample.at_s > rehearsal.seconds + 1) {
        continue;
      }
      own.push_back(sample.own_cpus);
      others.push_back(std::max(0.0, sample.busy_cpus - sample.own_cpus));
      steal.push_back(sample.steal_cpus);
    }
  }
  if (!own.empty()) {
    use.own_from_telemetry = true;
    // The kernel counts CPU time in ticks, of which a light production takes none or one a sample:
    // their mean is exact, their median is not.
    use.own = base::Mean(own);
    use.others = base::Percentile(others, 50);
    use.steal_mean = base::Mean(steal);
    use.steal_worst = *std::max_element(steal.begin(), steal.end());
  } else if (rehearsal.seconds > 0 && rehearsal.cpu_seconds > 0) {
    use.own = rehearsal.cpu_seconds / rehearsal.seconds;
  } else {
    return std::nullopt;
  }
  if (rehearsal.seconds > 0) {
    use.simulation = std::min(use.own, rehearsal.simulation_cpu_seconds / rehearsal.seconds);
    use.own -= use.simulation;
  }
  return use;
}

}  // namespace report
