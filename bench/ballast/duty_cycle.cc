// SPDX-License-Identifier: Apache-2.0

#include "bench/ballast/duty_cycle.h"

#include <algorithm>
#include <cmath>

namespace bench {

void DutyCycle::SetPeriod(std::int64_t period_ns, std::int64_t now_ns) {
  period_ns_ = std::max<std::int64_t>(period_ns, 0);
  due_ns_ = now_ns;
}

void DutyCycle::Begin(std::int64_t now_ns) {
  due_ns_ = std::max(due_ns_ + period_ns_, now_ns - kMostBehindNs);
}

std::int64_t DutyCycle::RestNs(std::int64_t work_ns, std::int64_t now_ns) const {
  constexpr std::int64_t kLeastRestNs = 100'000;
  return idle() || due_ns_ > now_ns ? 0 : std::max(work_ns / 10, kLeastRestNs);
}

std::int64_t PeriodNs(double level, double unit_cost, int threads) {
  // Longer than any run: one unit an hour.
  constexpr double kLongestNs = 3600e9;
  if (level <= 0 || unit_cost <= 0 || threads <= 0) {
    return 0;
  }
  const double period_ns = unit_cost * threads / level * 1e9;
  return static_cast<std::int64_t>(std::clamp(std::round(period_ns), 1.0, kLongestNs));
}

}  // namespace bench
