#include "bench/disk_judge.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <fmt/format.h>

#include "base/percentile.h"
#include "bench/change_point.h"
#include "bench/steady_state.h"

namespace bench {
namespace {

constexpr double kStepWorthTelling = 0.10;
constexpr double kLowPercentile = 10;

bool WorthTelling(const Step& step) {
  return step.before > 0 && std::abs(step.after / step.before - 1) >= kStepWorthTelling;
}

}  // namespace

SustainedRate JudgeDiskWindows(std::span<const double> bytes_per_second, double window_seconds) {
  SustainedRate rate;
  std::size_t tail = 0;
  for (const Step& step : FindSteps(bytes_per_second)) {
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
  const auto settled = bytes_per_second.subspan(tail);
  const SteadyState state = FindLastSteadyState(settled);
  rate.steady = state.attained;
  rate.excursion_percent = state.excursion_percent;
  rate.slope_percent = state.slope_percent;
  if (state.attained) {
    rate.bytes_per_second = state.average;
    rate.from = "mean of the steady window";
  } else {
    rate.bytes_per_second = base::Percentile(settled, kLowPercentile);
    rate.from = fmt::format("10th percentile of {} windows, as none was steady", settled.size());
  }
  return rate;
}

}  // namespace bench
