// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/times/picture_beat.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numeric>
#include <vector>

namespace probes {
namespace {

constexpr double kSnapPpm = 200;
constexpr double kErrors = 3;            // standard errors
constexpr double kMostErrorPpm = 1'000;  // short recordings with jitter
constexpr double kMultipleShare = 0.01;
constexpr double kFastestShare = 0.1;
constexpr double kAlikeTimes = 1.25;  // rounded stamps of one step differ by less
/// Of the steps that must be near whole multiples; of random steps half are.
constexpr double kExplainedLeast = 0.8;
/// Steps of one period; with fewer, nothing tells lost pictures from pictures that never were, as
/// of a screen recorder that writes only what changes.
constexpr double kSingleLeast = 0.35;
constexpr double kMostPeriodsForMean = 8;
constexpr double kMostPeriodsForRough = 4;

double Quantile(std::vector<double> values, double share) {
  const auto at = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + at, values.end());
  return values[static_cast<std::size_t>(at)];
}

std::vector<double> Forward(std::span<const double> steps_s) {
  std::vector<double> forward;
  std::copy_if(steps_s.begin(), steps_s.end(), std::back_inserter(forward),
               [](double step) { return step > 0 && std::isfinite(step); });
  return forward;
}

struct Fit {
  double explained = 0;  // share of pictures within a quarter period of the beat
  double single = 0;     // share of steps of one period
};

/// Follows the beat of `period_s` over the steps, as the counting does.
Fit FitOf(std::span<const double> steps_s, double period_s) {
  Fit fit;
  double lead_s = 0;
  for (const double step : steps_s) {
    const double whole = std::max(0.0, std::round((step + lead_s) / period_s));
    const double off_s = step + lead_s - whole * period_s;
    lead_s = kLeadKept * std::clamp(off_s, -period_s, period_s);
    fit.explained += whole >= 1 && std::fabs(off_s) < kOnBeatPeriods * period_s ? 1 : 0;
    fit.single += whole == 1 ? 1 : 0;
  }
  const auto count = static_cast<double>(steps_s.size());
  return {fit.explained / count, fit.single / count};
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

/// Straight line of times over numbers of periods, one slope for the stretches between long holes.
/// A first step that is no whole periods (writers stretch the first picture) must not turn it.
class BeatLine {
 public:
  BeatLine(std::span<const double> steps_s, double period_s) : period_s_(period_s) {
    double lead_s = 0;
    bool first = true;
    for (const double step : steps_s) {
      const double whole = std::max(0.0, std::round((step + lead_s) / period_s));
      const double off_s = step + lead_s - whole * period_s;
      lead_s = kLeadKept * std::clamp(off_s, -period_s, period_s);
      const bool odd = first && std::fabs(off_s) >= kOnBeatPeriods * period_s;
      if (odd || whole > kMostPeriodsForMean) {
        EndStretch();
        lead_s = 0;
      } else {
        Add(whole, step);
      }
      first = false;
    }
    EndStretch();
  }

  double period_s() const { return numbers_ > 0 ? products_ / numbers_ : period_s_; }
  /// Standard error of the slope (of independent errors), in millionths of it.
  double error_ppm() const {
    if (numbers_ <= 0 || freedom_ < 1) {
      return kMostErrorPpm;
    }
    const double left = std::max(0.0, times_ - products_ * products_ / numbers_);
    return std::sqrt(left / freedom_ / numbers_) / period_s() * 1e6;
  }

 private:
  void Add(double whole, double step) {
    number_ += whole;
    time_s_ += step;
    ++count_;
    number_sum_ += number_;
    time_sum_ += time_s_;
    number_squares_ += number_ * number_;
    time_squares_ += time_s_ * time_s_;
    product_sum_ += number_ * time_s_;
  }

  void EndStretch() {
    if (count_ > 2) {
      numbers_ += number_squares_ - number_sum_ * number_sum_ / count_;
      products_ += product_sum_ - number_sum_ * time_sum_ / count_;
      times_ += time_squares_ - time_sum_ * time_sum_ / count_;
      freedom_ += count_ - 1 - (freedom_ == 0 ? 1 : 0);
    }
    // The picture that begins the next one is at number 0, time 0.
    number_ = time_s_ = number_sum_ = time_sum_ = number_squares_ = time_squares_ = product_sum_ =
        0;
    count_ = 1;
  }

  const double period_s_;
  double number_ = 0;
  double time_s_ = 0;
  double count_ = 1;
  double number_sum_ = 0;
  double time_sum_ = 0;
  double number_squares_ = 0;
  double time_squares_ = 0;
  double product_sum_ = 0;
  double numbers_ = 0;  // sums of squares and products around the means of their stretches
  double products_ = 0;
  double times_ = 0;
  double freedom_ = 0;
};

/// How far a rate may be from one that stands for it: crystals, and what rounding and jitter leave.
double SnapPpm(const BeatLine& line) {
  return kSnapPpm + std::min(kErrors * line.error_ppm(), kMostErrorPpm);
}

std::optional<FoundBeat> AtStatedRate(std::span<const double> steps_s,
                                      const base::Rational& stated) {
  const double period = 1 / base::ToDouble(stated);
  const Fit fit = FitOf(steps_s, period);
  if (fit.explained < kExplainedLeast || fit.single < kSingleLeast) {
    return std::nullopt;
  }
  const BeatLine line(steps_s, period);
  if (std::fabs(line.period_s() / period - 1) * 1e6 > SnapPpm(line)) {
    return std::nullopt;
  }
  return FoundBeat{stated, period, fit.single, RateFrom::kContainer, {}};
}

std::optional<FoundBeat> AtMeasuredRate(std::span<const double> steps_s, double guess_s) {
  const double refined = BeatLine(steps_s, RoughPeriod(steps_s, guess_s)).period_s();
  const BeatLine line(steps_s, refined);
  const double measured = line.period_s();
  const Fit fit = FitOf(steps_s, measured);
  if (fit.explained < kExplainedLeast || fit.single < kSingleLeast) {
    return std::nullopt;
  }
  if (const auto rate = StandardRateNear(1 / measured, SnapPpm(line))) {
    return FoundBeat{*rate, 1 / base::ToDouble(*rate), fit.single, RateFrom::kTimestamps, {}};
  }
  constexpr double kNanosPerSecond = 1e9;
  const auto nanos =
      static_cast<std::int64_t>(std::llround(std::clamp(measured * kNanosPerSecond, 1.0, 1e15)));
  return FoundBeat{
      base::Rational(1'000'000'000, nanos), measured, fit.single, RateFrom::kTimestamps, {}};
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
                                  const std::optional<base::Rational>& stated) {
  const std::vector<double> forward = Forward(steps_s);
  if (forward.size() < 3) {
    return std::nullopt;
  }
  const bool any_stated = stated && *stated > 0;
  if (any_stated) {
    if (const auto beat = AtStatedRate(forward, *stated)) {
      return beat;
    }
  }
  // Heavy losses make the median step a multiple of the period; the shortest steps are one.
  const double median = Quantile(forward, 0.5);
  const double shortest = Quantile(forward, 0.05);
  std::optional<FoundBeat> beat;
  if (shortest < median * 0.7) {
    beat = AtMeasuredRate(forward, shortest);
  }
  beat = beat ? beat : AtMeasuredRate(forward, median);
  if (beat && any_stated && IsMultiple(*stated, *beat)) {
    beat->stated = stated;
  }
  return beat;
}

bool IsMultiple(const base::Rational& stated, const FoundBeat& beat) {
  const double periods = base::ToDouble(stated) * beat.period_s;
  return std::round(periods) >= 2 && periods <= kMostPeriodsForMean + 0.5 &&
         std::fabs(periods / std::round(periods) - 1) < kMultipleShare;
}

double FastestStep(std::span<const double> steps_s) {
  std::vector<double> forward = Forward(steps_s);
  if (forward.empty()) {
    return 0;
  }
  const double most_s = kAlikeTimes * Quantile(forward, kFastestShare);
  std::erase_if(forward, [most_s](double step_s) { return step_s > most_s; });
  return std::accumulate(forward.begin(), forward.end(), 0.0) / static_cast<double>(forward.size());
}

}  // namespace probes
