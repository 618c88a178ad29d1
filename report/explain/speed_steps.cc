// SPDX-License-Identifier: Apache-2.0

#include "report/explain/speed_steps.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/stats/change_point.h"
#include "base/stats/drop_bound.h"
#include "base/stats/percentile.h"
#include "base/text.h"
#include "report/explain/signs.h"
#include "report/loads/judged_run.h"

namespace report {
namespace {

/// A rehearsal is judged second by second; long ones in longer windows.
constexpr std::size_t kMostWindows = 600;
constexpr base::StepRule kRule{0.01, 5, 999};
/// Either side of a step, to see what else changed.
constexpr double kBesideSeconds = 15;

/// Values of equal windows from `from_s` on.
struct Windows {
  std::string name;
  std::string unit;
  double from_s = 0;
  double window_s = 1;
  std::vector<double> values;
  bool up_is_worse = false;
  double least_percent = 10;  // of the level before, to be told
};

Windows InWiderWindows(Windows windows) {
  const std::size_t per = (windows.values.size() + kMostWindows - 1) / kMostWindows;
  if (per <= 1) {
    return windows;
  }
  std::vector<double> wider;
  for (std::size_t i = 0; i + per <= windows.values.size(); i += per) {
    wider.push_back(base::Mean(std::span(windows.values).subspan(i, per)));
  }
  windows.values = std::move(wider);
  windows.window_s *= static_cast<double>(per);
  return windows;
}

double MeanBetween(const std::vector<SignPoint>& points, double from_s, double to_s, bool& known) {
  std::vector<double> values;
  for (const SignPoint& point : points) {
    if (point.from_s >= from_s && point.to_s <= to_s) {
      values.push_back(point.value);
    }
  }
  known = !values.empty();
  return base::Mean(values);
}

/// A sign that may go with a step, and how far it must have moved.
struct Companion {
  Sign sign;
  double least_change;
};

std::vector<std::string> MovedWith(const SignSeries& signs, double at_s) {
  static constexpr std::array<Companion, 7> kCompanions{{{Sign::kClockRate, -0.05},
                                                         {Sign::kThrottleEvents, 0.2},
                                                         {Sign::kDiskWriteMs, 10},
                                                         {Sign::kSteal, 0.03},
                                                         {Sign::kQuotaThrottled, 0.1},
                                                         {Sign::kOthers, 0.08},
                                                         {Sign::kRunWait, 0.2}}};
  std::vector<std::string> moved;
  for (const Companion& companion : kCompanions) {
    const auto points = signs.find({companion.sign, ""});
    if (points == signs.end()) {
      continue;
    }
    bool before_known = false;
    bool after_known = false;
    const double before = MeanBetween(points->second, at_s - kBesideSeconds, at_s, before_known);
    const double after = MeanBetween(points->second, at_s, at_s + kBesideSeconds, after_known);
    const double sign = companion.least_change < 0 ? -1 : 1;
    if (before_known && after_known &&
        sign * (after - before) >= std::fabs(companion.least_change)) {
      const SignWords& words = WordsOf(companion.sign);
      moved.push_back(fmt::format("{}: {:.3g} before, {:.3g}{} after", words.name,
                                  before * words.scale, after * words.scale, UnitText(words)));
    }
  }
  return moved;
}

void AddSteps(const Windows& asked, const SignSeries& signs, std::vector<SpeedStep>& steps) {
  const Windows windows = InWiderWindows(asked);
  for (const base::Step& step : base::FindSteps(windows.values, kRule)) {
    if (!(step.before > 0)) {
      continue;
    }
    const double percent = 100 * (step.after - step.before) / step.before;
    if ((windows.up_is_worse ? percent : -percent) < windows.least_percent) {
      continue;
    }
    SpeedStep told;
    told.series = windows.name;
    told.unit = windows.unit;
    told.at_s = windows.from_s + windows.window_s * static_cast<double>(step.at);
    told.before = step.before;
    told.after = step.after;
    told.change_percent = percent;
    told.moved_with = MovedWith(signs, told.at_s);
    steps.push_back(std::move(told));
  }
}

std::size_t FirstJudged(const bench::Rehearsal& rehearsal) {
  return static_cast<std::size_t>(std::ceil(std::max(0.0, rehearsal.warm_up_seconds)));
}

/// Whole seconds only: the last may be a part.
std::size_t EndOf(const bench::Rehearsal& rehearsal, std::size_t size) {
  return std::min(size, static_cast<std::size_t>(std::max(0.0, rehearsal.seconds)));
}

Windows DeliveredShare(const bench::Rehearsal& rehearsal) {
  Windows windows{"production speed", "x real time", 0, 1, {}, false, 5};
  const std::size_t first = FirstJudged(rehearsal);
  windows.from_s = static_cast<double>(first);
  for (std::size_t second = first; second < EndOf(rehearsal, SIZE_MAX); ++second) {
    double due = 0;
    double delivered = 0;
    for (const bench::OutputLedger& output : rehearsal.outputs) {
      if (second < output.seconds.size()) {
        due += static_cast<double>(output.seconds[second].due);
        delivered += static_cast<double>(output.seconds[second].delivered);
      }
    }
    if (due <= 0) {
      break;
    }
    windows.values.push_back(delivered / due);
  }
  return windows;
}

Windows EncodeTime(const bench::Rehearsal& rehearsal, const bench::OutputLedger& output) {
  // Threads of the encoder hide small changes: a third is certainly felt.
  Windows windows{"encode time of " + output.name, "ms a frame", 0, 1, {}, true, 33};
  const std::size_t first = FirstJudged(rehearsal);
  windows.from_s = static_cast<double>(first);
  for (std::size_t second = first; second < EndOf(rehearsal, output.work.size()); ++second) {
    const bench::StageSecond& work = output.work[second];
    if (work.encoded <= 0) {
      break;
    }
    windows.values.push_back(work.encode_busy * 1000 / static_cast<double>(work.encoded));
  }
  return windows;
}

Windows ClockRate(const probes::TelemetryRecord& telemetry, double warm_up_seconds) {
  Windows windows{"clock rate", "MHz", 0, 1, {}, false, 5};
  double last_s = 0;
  for (const probes::TelemetrySample& sample : telemetry.samples) {
    if (!sample.mean_mhz || sample.at_s < warm_up_seconds) {
      continue;
    }
    if (windows.values.empty()) {
      windows.from_s = sample.at_s;
    }
    windows.values.push_back(*sample.mean_mhz);
    last_s = sample.at_s;
  }
  if (windows.values.size() > 1) {
    windows.window_s = (last_s - windows.from_s) / static_cast<double>(windows.values.size() - 1);
    windows.from_s -= windows.window_s;  // a sample is told at its end
  }
  return windows;
}

}  // namespace

std::vector<SpeedStep> FindSpeedSteps(const Evidence& evidence) {
  std::vector<SpeedStep> steps;
  const bench::Results& results = evidence.results;
  if (results.rehearsal) {
    const bench::Rehearsal& rehearsal = *results.rehearsal;
    SignSeries signs;
    if (evidence.telemetry) {
      const double all =
          std::max(1.0, static_cast<double>(evidence.inventory.cpu.threads.value_or(1)));
      signs = SignsOf(*evidence.telemetry, {all, all});
      AddSteps(ClockRate(*evidence.telemetry, rehearsal.warm_up_seconds), signs, steps);
    }
    AddSteps(DeliveredShare(rehearsal), signs, steps);
    for (const bench::OutputLedger& output : rehearsal.outputs) {
      AddSteps(EncodeTime(rehearsal, output), signs, steps);
    }
    std::stable_sort(steps.begin(), steps.end(),
                     [](const SpeedStep& a, const SpeedStep& b) { return a.at_s < b.at_s; });
  }
  if (results.flat_out) {
    AddSteps({"full-speed run", "x real time", 0, 1, results.flat_out->window_speeds, false, 15},
             {}, steps);
  }
  return steps;
}

std::optional<DropProof> ProofOf(const Evidence& evidence) {
  const auto run = JudgeRun(evidence.results, evidence.profile.margins);
  if (!run || run->due <= 0 || run->hours <= 0) {
    return std::nullopt;
  }
  DropProof proof;
  proof.judged_seconds = run->hours * 3600;
  proof.lost_pictures = run->Dropped();
  proof.upper_95_per_hour = run->upper_per_hour;
  proof.allowed_per_hour = evidence.profile.margins.allowed_drops_per_hour;
  proof.proven = proof.allowed_per_hour > 0 && proof.upper_95_per_hour <= proof.allowed_per_hour;
  if (proof.allowed_per_hour > 0) {
    proof.seconds_to_prove = base::SecondsToProve(proof.allowed_per_hour);
  }
  return proof;
}

}  // namespace report
