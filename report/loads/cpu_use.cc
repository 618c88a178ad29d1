// SPDX-License-Identifier: Apache-2.0
//
// CPU shares from telemetry samples.

#include "report/loads/cpu_use.h"

#include <algorithm>
#include <string>
#include <vector>

#include "base/stats/percentile.h"
#include "base/text.h"

namespace report {
namespace {

/// What the sampler says of a figure that it could not read.
std::string WhyNotRead(const std::optional<probes::TelemetryRecord>& telemetry,
                       std::optional<std::string> probes::TelemetryRecord::*why) {
  if (!telemetry) {
    return "nothing was sampled beside the rehearsal";
  }
  const std::optional<std::string>& told = *telemetry.*why;
  return told ? base::Printable(*told, 200) : "no sample of the judged time has it";
}

struct Series {
  std::vector<double> own;
  std::vector<double> others;
  std::vector<double> steal;
};

Series JudgedSeries(const bench::Rehearsal& rehearsal, const probes::TelemetryRecord& telemetry) {
  Series series;
  const auto add = [](std::vector<double>& values, const std::optional<double>& value) {
    if (value) {
      values.push_back(*value);
    }
  };
  for (const probes::TelemetrySample& sample : telemetry.samples) {
    if (sample.at_s > rehearsal.warm_up_seconds && sample.at_s <= rehearsal.seconds + 1) {
      add(series.own, sample.own_cpus);
      add(series.others, sample.OtherCpus());
      add(series.steal, sample.steal_cpus);
    }
  }
  return series;
}

}  // namespace

base::Reading<double> CpuUse::Taken() const {
  if (!others) {
    return others;
  }
  return steal_mean ? base::Reading<double>(*others + *steal_mean) : steal_mean;
}

std::optional<CpuUse> JudgedCpuUse(const bench::Results& results,
                                   const std::optional<probes::TelemetryRecord>& telemetry) {
  if (!results.rehearsal) {
    return std::nullopt;
  }
  const bench::Rehearsal& rehearsal = *results.rehearsal;
  const Series series = telemetry ? JudgedSeries(rehearsal, *telemetry) : Series{};
  CpuUse use;
  if (!series.own.empty()) {
    use.own_from_telemetry = true;
    // The kernel counts CPU time in ticks, of which a light production takes none or one a sample:
    // their mean is exact, their median is not.
    use.own = base::Mean(series.own);
  } else if (rehearsal.seconds > 0 && rehearsal.cpu_seconds > 0) {
    use.own = rehearsal.cpu_seconds / rehearsal.seconds;
  } else {
    return std::nullopt;
  }
  if (rehearsal.seconds > 0) {
    use.simulation = std::min(use.own, rehearsal.simulation_cpu_seconds / rehearsal.seconds);
    use.own -= use.simulation;
  }
  if (series.steal.empty()) {
    use.steal_mean = base::Reading<double>::Unknown(
        WhyNotRead(telemetry, &probes::TelemetryRecord::cpu_use_not_read));
  } else {
    use.steal_mean = base::Mean(series.steal);
    use.steal_worst = *std::max_element(series.steal.begin(), series.steal.end());
  }
  if (series.others.empty()) {
    const bool busy_read = !series.steal.empty();  // both stand in one file
    use.others = base::Reading<double>::Unknown(
        WhyNotRead(telemetry, busy_read ? &probes::TelemetryRecord::own_cpu_use_not_read
                                        : &probes::TelemetryRecord::cpu_use_not_read));
  } else {
    use.others = base::Percentile(series.others, 50);
  }
  return use;
}

}  // namespace report
