// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/steady_state.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/stats/percentile.h"

namespace bench {
namespace {

SteadyState Judge(std::span<const double> window, std::size_t first_round,
                  const SteadyStateRule& rule) {
  SteadyState state;
  state.first_round = first_round;
  state.average = base::Mean(window);
  if (state.average <= 0) {
    return state;
  }
  const auto [low, high] = std::minmax_element(window.begin(), window.end());
  const double rise = base::Slope(window) * static_cast<double>(window.size() - 1);
  state.excursion_percent = 100 * (*high - *low) / state.average;
  state.slope_percent = 100 * std::abs(rise) / state.average;
  state.attained = state.excursion_percent <= rule.excursion_limit_percent &&
                   state.slope_percent <= rule.slope_limit_percent;
  return state;
}

std::vector<SteadyState> JudgeAll(std::span<const double> rounds, const SteadyStateRule& rule) {
  std::vector<SteadyState> windows;
  if (rule.window_rounds == 0) {
    return windows;
  }
  for (std::size_t first = 0; first + rule.window_rounds <= rounds.size(); ++first) {
    windows.push_back(Judge(rounds.subspan(first, rule.window_rounds), first, rule));
  }
  return windows;
}

SteadyState Nearest(const std::vector<SteadyState>& windows) {
  SteadyState nearest;
  for (const SteadyState& window : windows) {
    if (window.average > 0 &&
        (nearest.average <= 0 || window.excursion_percent < nearest.excursion_percent)) {
      nearest = window;
    }
  }
  return nearest;
}

}  // namespace

SteadyState FindLastSteadyState(std::span<const double> rounds, const SteadyStateRule& rule) {
  const auto windows = JudgeAll(rounds, rule);
  const auto found = std::find_if(windows.rbegin(), windows.rend(),
                                  [](const SteadyState& window) { return window.attained; });
  return found != windows.rend() ? *found : Nearest(windows);
}

}  // namespace bench
