// SPDX-License-Identifier: Apache-2.0

#include "probes/picture_beat.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <vector>

namespace probes {
namespace {

constexpr double kSnapPpm = 200;
/// Of the steps that must be near whole multiples; of random steps half are.
constexpr double kExplainedLeast = 0.8;
/// A step of one period; with fewer, nothing tells lost pictures from pictures that never were.
constexpr double kSingleLeast = 0.2;
constexpr double kMostPeriodsForMean = 8;
constexpr double kMostPeriodsForRough = 4;
constexpr double kAlikeShare = 1e-4;

double Quantile(std::vector<double> values, double share) {
  const auto at = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + at, values.end());
  return values[static_cast<std::size_t>(at)];
}

struct Fit {
  double explained = 0;  // share of pictures within a quarter period of the beat
  double single = 0;     // share of steps of one period
  double period_s = 0;   // that fits better
};

/// Follows the beat of `period_s` over the steps, as the counting does.
Fit FitOf(std::span<const double> steps_s, double period_s) {
  Fit fit;
  double lead_s = 0;
  double seconds = 0;
  double periods = 0;
  for (const double step : steps_s) {
    const double whole = std::max(0.0, std::round((step + lead_s) / period_s));
    const double off_s = step + lead_s - whole * period_s;
    lead_s = kLeadKept * std::clamp(off_s, -period_s, period_s);
    fit.explained += whole >= 1 && std::fabs(off_s) < kOnBeatPeriods * period_s ? 1 : 0;
    fit.single += whole == 1 ? 1 : 0;
    if (whole <= kMostPeriodsForMean) {
      seconds += step;
      periods += whole;
    }
  }
  const auto count = static_cast<double>(steps_s.size());
  return {fit.explained / count, fit.single / count, periods > 0 ? seconds / periods : period_s};
}

/// Mean step per period over the steps of few periods, each by itself: a first guess may be far
/// off.
double RoughPeriod(std::span<const double> steps_s, double guess_s) {
  double seconds = 0;
  double periods = 0;
  for (const double step : steps_s) {
    const double whole = std::round(step / guess_s);
    if (whole >= 1 && whole <= kMostPeriodsForRough) {
      seconds += step;
      periods += whole;
    }
  }
  return periods > 0 ? seconds / periods : guess_s;
}

/// How far off the mean may be because times are rounded.
double SnapPpm(std::size_t steps, double period_s, double tick_s) {
  return kSnapPpm + 2e6 * tick_s / (period_s * static_cast<double>(steps));
}

std::optional<FoundBeat> AtStatedRate(std::span<const double> steps_s, const base::Rational& stated,
                                      double tick_s) {
  const double period = 1 / base::ToDouble(stated);
  const Fit fit = FitOf(steps_s, period);
  const bool near =
      std::fabs(fit.period_s / period - 1) * 1e6 <= SnapPpm(steps_s.size(), period, tick_s);
  if (fit.explained < kExplainedLeast || fit.single <= 0 || !near) {
    return std::nullopt;
  }
  return FoundBeat{stated, period, RateFrom::kContainer};
}

std::optional<FoundBeat> AtMeasuredRate(std::span<const double> steps_s, double guess_s,
                                        double tick_s) {
  // Where nearly all steps are alike, one that is odd (a file's first) must not turn the mean.
  const auto alike = std::count_if(steps_s.begin(), steps_s.end(), [&](double step) {
    return std::fabs(step - guess_s) <= tick_s * 1.01 + guess_s * kAlikeShare;
  });
  if (static_cast<double>(alike) >= kExplainedLeast * static_cast<double>(steps_s.size())) {
    const auto rate = StandardRateNear(1 / guess_s, kSnapPpm);
    if (rate && FitOf(steps_s, 1 / base::ToDouble(*rate)).explained >= kExplainedLeast) {
      return FoundBeat{*rate, 1 / base::ToDouble(*rate), RateFrom::kTimestamps};
    }
  }
  const double refined = FitOf(steps_s, RoughPeriod(steps_s, guess_s)).period_s;
  const Fit fit = FitOf(steps_s, refined);
  const double measured = fit.period_s;
  if (fit.explained < kExplainedLeast || fit.single < kSingleLeast) {
    return std::nullopt;
  }
  if (const auto rate = StandardRateNear(1 / measured, SnapPpm(steps_s.size(), measured, tick_s))) {
    return FoundBeat{*rate, 1 / base::ToDouble(*rate), RateFrom::kTimestamps};
  }
  constexpr double kNanosPerSecond = 1e9;
  const auto nanos =
      static_cast<std::int64_t>(std::llround(std::clamp(measured * kNanosPerSecond, 1.0, 1e15)));
  return FoundBeat{base::Rational(1'000'000'000, nanos), measured, RateFrom::kTimestamps};
}

}  // namespace

std::span<const base::Rational> StandardRates() {
  static const std::array<base::Rational, 18> rates = {
      base::Rational(5),           base::Rational(15, 2),        base::Rational(10),
      base::Rational(12),          base::Rational(15),           base::Rational(20),
      base::Rational(24000, 1001), base::Rational(24),           base::Rational(25),
      base::Rational(30000, 1001), base::Rational(30),           base::Rational(48),
      base::Rational(50),          base::Rational(60000, 1001),  base::Rational(60),
      base::Rational(100),         base::Rational(120000, 1001), base::Rational(120)};
  return rates;
}

std::optional<base::Rational> StandardRateNear(double per_second, double most_ppm) {
  std::optional<base::Rational> nearest;
  double least = most_ppm;
  for (const base::Rational& rate : StandardRates()) {
    const double off = std::fabs(per_second / base::ToDouble(rate) - 1) * 1e6;
    if (off <= least) {
      least = off;
      nearest = rate;
    }
  }
  return nearest;
}

std::optional<FoundBeat> FindBeat(std::span<const double> steps_s,
                                  const std::optional<base::Rational>& stated, double tick_s) {
  std::vector<double> forward;
  std::copy_if(steps_s.begin(), steps_s.end(), std::back_inserter(forward),
               [](double step) { return step > 0 && std::isfinite(step); });
  if (forward.size() < 3) {
    return std::nullopt;
  }
  if (stated && *stated > 0) {
    if (const auto beat = AtStatedRate(forward, *stated, tick_s)) {
      return beat;
    }
  }
  // Heavy losses make the median step a multiple of the period; the shortest steps are one.
  const double median = Quantile(forward, 0.5);
  const double shortest = Quantile(forward, 0.05);
  if (shortest < median * 0.7) {
    if (const auto beat = AtMeasuredRate(forward, shortest, tick_s)) {
      return beat;
    }
  }
  return AtMeasuredRate(forward, median, tick_s);
}

}  // namespace probes
