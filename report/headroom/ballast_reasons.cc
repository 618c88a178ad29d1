// SPDX-License-Identifier: Apache-2.0
//
// Why headroom by ballast and by arithmetic differ: only what the evidence shows.

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/stats/percentile.h"
#include "base/text.h"
#include "report/headroom/ballast_figures.h"
#include "report/words/figures.h"

namespace report {
namespace {

/// Points of headroom within which two figures agree.
constexpr double kSamePoints = 3;
/// Changes below this are noise.
constexpr double kNoticedPercent = 3;
constexpr double kNoticedCpus = 0.1;

/// The step that the production was by itself, and the last that carried most.
struct Compared {
  const bench::BallastStep* plain = nullptr;
  const bench::BallastStep* loaded = nullptr;
};

Compared StepsOf(const bench::BallastRun& run) {
  Compared steps;
  for (const bench::BallastStep& step : run.steps) {
    if (step.asked <= 0) {
      steps.plain = &step;
    } else if (step.carried && (steps.loaded == nullptr || step.used >= steps.loaded->used)) {
      steps.loaded = &step;
    }
  }
  return steps;
}

/// Mean of a value over the samples taken during a step.
template <typename Value>
std::optional<double> MeanDuring(const Facts& facts, const bench::BallastStep& step, Value value) {
  std::vector<double> values;
  if (facts.evidence.ballast_telemetry) {
    for (const probes::TelemetrySample& sample : facts.evidence.ballast_telemetry->samples) {
      const std::optional<double> one = value(sample);
      if (one && sample.at_s > step.at_s && sample.at_s <= step.at_s + step.seconds) {
        values.push_back(*one);
      }
    }
  }
  return values.empty() ? std::nullopt : std::optional(base::Mean(values));
}

void AddOwnCost(const Facts& facts, const Compared& steps, std::vector<std::string>& why) {
  const double before = steps.plain->production_cpus;
  const double during = steps.loaded->production_cpus;
  const double percent = before > 0 ? (during - before) / before * 100 : 0;
  if (std::fabs(percent) < kNoticedPercent) {
    return;
  }
  why.push_back(fmt::format(
      "The same production took {:.2f} CPUs beside the extra load and {:.2f} alone ({:+.0f} %){}.",
      during, before, percent,
      percent > 0 ? ": caches, memory or hardware threads that both use make it dearer" : ""));
  const probes::CpuInventory& cpu = facts.machine().cpu;
  if (percent > 0 && cpu.threads.known() && cpu.cores.known() && *cpu.threads > *cpu.cores) {
    why.push_back(fmt::format(
        "{} hardware threads share {} cores (SMT): with both of a core at work each does less "
        "than alone, which arithmetic counts as whole CPUs.",
        *cpu.threads, *cpu.cores));
  }
}

void AddFrequency(const Facts& facts, const Compared& steps, std::vector<std::string>& why) {
  const auto mhz = [](const probes::TelemetrySample& sample) { return sample.mean_mhz; };
  const auto before = MeanDuring(facts, *steps.plain, mhz);
  const auto during = MeanDuring(facts, *steps.loaded, mhz);
  if (!before || !during || *before <= 0 ||
      std::fabs(*during - *before) / *before * 100 < kNoticedPercent) {
    return;
  }
  why.push_back(fmt::format(
      "The clock was at {:.0f} MHz under the extra load and {:.0f} MHz without{}.", *during,
      *before, *during < *before ? ": boost gives less when all cores work" : ""));
}

void AddOthers(const Facts& facts, const Compared& steps, std::vector<std::string>& why) {
  const auto others = [](const probes::TelemetrySample& sample) {
    const auto programs = sample.OtherCpus();
    return programs && sample.steal_cpus ? std::optional(*programs + *sample.steal_cpus)
                                         : std::nullopt;
  };
  const auto during = MeanDuring(facts, *steps.loaded, others);
  const auto taken = facts.cpu ? facts.cpu->Taken() : base::Reading<double>();
  if (!during || !taken) {
    return;
  }
  const double before = *taken;
  if (std::fabs(*during - before) < kNoticedCpus) {
    return;
  }
  why.push_back(fmt::format(
      "Other programs and the host took {:.2f} CPUs in the rehearsal, which arithmetic counts as "
      "gone, and {:.2f} beside the extra load.",
      before, *during));
}

void AddWriteback(const Facts& facts, const Compared& steps, std::vector<std::string>& why) {
  const auto dirty = [](const probes::TelemetrySample& sample) { return sample.dirty_bytes; };
  const auto stalled = [](const probes::TelemetrySample& sample) {
    return sample.io_pressure_percent;
  };
  const auto before = MeanDuring(facts, *steps.plain, dirty);
  const auto during = MeanDuring(facts, *steps.loaded, dirty);
  constexpr double kNoticedBytes = 64e6;
  if (before && during && *during - *before > kNoticedBytes) {
    why.push_back(
        fmt::format("Writeback: {} waited in memory for the disk under the extra load, {} without.",
                    base::FormatBytes(*during), base::FormatBytes(*before)));
  }
  const auto waiting = MeanDuring(facts, *steps.loaded, stalled);
  constexpr double kNoticedStall = 10;
  if (waiting && *waiting > kNoticedStall) {
    why.push_back(
        fmt::format("Something waited for the disk in {:.0f} % of the time (pressure).", *waiting));
  }
}

/// The search on memory traffic loads CPUs too: which of them ran out?
void AddCpuOfMemory(const Compared& steps, const BallastFigure& figure,
                    std::vector<std::string>& why) {
  why.push_back(fmt::format(
      "Its copies took {:.2f} CPUs{}.", steps.loaded->ballast_cpus,
      figure.dropped_at ? ""
                        : ", about what the search on the CPU left: with more copies the CPU "
                          "runs out first"));
}

}  // namespace

std::vector<std::string> WhyBallastDiffers(const Facts& facts, const bench::BallastRun& run,
                                           const BallastFigure& figure) {
  std::vector<std::string> why;
  const Compared steps = StepsOf(run);
  if (steps.plain == nullptr || steps.loaded == nullptr) {
    return why;
  }
  if (run.kind == bench::LoadKind::kMemory) {
    AddCpuOfMemory(steps, figure, why);
    return why;
  }
  const double arithmetic = figure.arithmetic_percent.value_or(figure.low_percent.value_or(0));
  const double low = figure.low_percent.value_or(0);
  const double high = figure.high_percent.value_or(arithmetic);
  if (arithmetic >= low - kSamePoints && arithmetic <= std::max(high, low) + kSamePoints) {
    return why;  // they agree
  }
  AddOwnCost(facts, steps, why);
  if (run.kind == bench::LoadKind::kCpu) {
    AddFrequency(facts, steps, why);
    AddOthers(facts, steps, why);
  }
  AddWriteback(facts, steps, why);
  if (why.empty()) {
    why.emplace_back("Nothing that was measured says why the two differ.");
  }
  return why;
}

}  // namespace report
