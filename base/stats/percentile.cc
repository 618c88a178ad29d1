// SPDX-License-Identifier: Apache-2.0

#include "base/stats/percentile.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

namespace base {

double Percentile(std::span<const double> samples, double percent) {
  if (samples.empty()) {
    return 0;
  }
  std::vector<double> sorted(samples.begin(), samples.end());
  const auto count = static_cast<double>(sorted.size());
  const double rank = std::clamp(std::ceil(percent / 100.0 * count), 1.0, count);
  const auto nth = sorted.begin() + static_cast<std::ptrdiff_t>(rank) - 1;
  std::nth_element(sorted.begin(), nth, sorted.end());
  return *nth;
}

double Mean(std::span<const double> samples) {
  if (samples.empty()) {
    return 0;
  }
  return std::accumulate(samples.begin(), samples.end(), 0.0) / static_cast<double>(samples.size());
}

double Slope(std::span<const double> samples) {
  if (samples.size() < 2) {
    return 0;
  }
  const double middle = static_cast<double>(samples.size() - 1) / 2;
  const double mean = Mean(samples);
  double above = 0;
  double below = 0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double distance = static_cast<double>(i) - middle;
    above += distance * (samples[i] - mean);
    below += distance * distance;
  }
  return above / below;
}

}  // namespace base
