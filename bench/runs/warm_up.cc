// SPDX-License-Identifier: Apache-2.0

#include "bench/runs/warm_up.h"

#include <algorithm>
#include <cmath>

#include "base/stats/percentile.h"

namespace bench {

double WarmUpSeconds(std::int64_t all_delivering_ns) {
  constexpr double kShortest = 2;
  constexpr double kLongest = 5;
  if (all_delivering_ns < 0) {
    return kLongest;
  }
  return std::clamp(std::ceil(static_cast<double>(all_delivering_ns) / 1e9), kShortest, kLongest);
}

std::int64_t DroppedBefore(std::span<const LedgerWindow> windows, double seconds) {
  std::int64_t dropped = 0;
  for (std::size_t i = 0; i < windows.size() && static_cast<double>(i) < seconds; ++i) {
    dropped += windows[i].dropped;
  }
  return dropped;
}

double SustainedSpeed(std::span<const double> window_speeds) {
  constexpr std::size_t kWarmUpWindows = 2;
  constexpr std::size_t kEnough = 6;
  if (window_speeds.size() > kEnough) {
    window_speeds = window_speeds.subspan(kWarmUpWindows);
  }
  constexpr double kLowPercentile = 10;
  return base::Percentile(window_speeds, kLowPercentile);
}

}  // namespace bench
