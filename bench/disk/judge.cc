// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/judge.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/stats/change_point.h"
#include "base/stats/percentile.h"
#include "bench/disk/steady_state.h"

namespace bench {
namespace {

constexpr double kStepWorthTelling = 0.10;
constexpr double kLowPercentile = 10;

/// A recorder's queues take up what a disk does within a second.
constexpr double kLongestRoundSeconds = 1.0;

/// The means of each `count` rates in turn, counted from the end so that the
/// last ones are whole; what is left over at the beginning is left out.
std::vector<double> Gathered(std::span<const double> rates, std::size_t count) {
  std::vector<double> rounds(rates.size() / count);
  const auto whole = rates.last(rounds.size() * count);
  for (std::size_t i = 0; i < rounds.size(); ++i) {
    rounds[i] = base::Mean(whole.subspan(i * count, count));
  }
  return rounds;
}

/// Steady in rounds of one window, or else of two, four, ... up to a second: a
/// disk that is served in bursts (a limit, a cache emptied in turns) looks
/// restless through a window as short as its bursts.
struct Settled {
  std::vector<double> rounds;
  SteadyState state;
  double round_seconds = 0;
};

Settled FindSettled(std::span<const double> rates, double window_seconds) {
  Settled settled;
  for (std::size_t count = 1;; count *= 2) {
    auto rounds = Gathered(rates, count);
    const double seconds = window_seconds * static_cast<double>(count);
    if (count > 1 && (rounds.size() < SteadyStateRule{}.window_rounds ||
                      seconds > kLongestRoundSeconds * 1.001)) {
      return settled;
    }
    settled = {std::move(rounds), {}, seconds};
    settled.state = FindLastSteadyState(settled.rounds);
    if (settled.state.attained || settled.rounds.empty()) {
      return settled;
    }
  }
}

bool WorthTelling(const base::Step& step) {
  return step.before > 0 && std::abs(step.after / step.before - 1) >= kStepWorthTelling;
}

}  // namespace

SustainedRate JudgeDiskWindows(std::span<const double> bytes_per_second, double window_seconds) {
  SustainedRate rate;
  std::size_t tail = 0;
  for (const base::Step& step : base::FindSteps(bytes_per_second)) {
    if (!WorthTelling(step)) {
      continue;
    }
    tail = step.at;
    const double ratio = step.after / step.before;
    const bool first = !rate.step_ratio;
    const bool further_down = ratio < 1 && ratio < rate.step_ratio.value_or(1);
    const bool further_up =
        ratio > 1 && rate.step_ratio.value_or(1) >= 1 && ratio > rate.step_ratio.value_or(1);
    if (first || further_down || further_up) {
      rate.step_at_s = static_cast<double>(step.at) * window_seconds;
      rate.step_ratio = ratio;
    }
  }
  const Settled settled = FindSettled(bytes_per_second.subspan(tail), window_seconds);
  rate.steady = settled.state.attained;
  rate.excursion_percent = settled.state.excursion_percent;
  rate.slope_percent = settled.state.slope_percent;
  if (rate.steady) {
    rate.bytes_per_second = settled.state.average;
    rate.from =
        fmt::format("mean of the steady window of 5 rounds of {:.2g} s", settled.round_seconds);
  } else {
    rate.bytes_per_second = base::Percentile(settled.rounds, kLowPercentile);
    rate.from = fmt::format("10th percentile of {} rounds of {:.2g} s, as no 5 were steady",
                            settled.rounds.size(), settled.round_seconds);
  }
  return rate;
}

}  // namespace bench
