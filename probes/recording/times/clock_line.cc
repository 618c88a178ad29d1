// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/times/clock_line.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include <boost/math/distributions/students_t.hpp>

namespace probes {
namespace {

constexpr std::size_t kMostStretches = 256;  // their pairs fit in a quarter of a megabyte
constexpr std::size_t kLeastPoints = 8;
constexpr double kPpm = 1e6;
constexpr double kMostCorrelation = 0.99;

double Median(std::vector<double>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double MedianSlope(std::span<const LinePoint> points) {
  std::vector<double> slopes;
  slopes.reserve(points.size() * (points.size() - 1) / 2);
  for (std::size_t i = 0; i < points.size(); ++i) {
    for (std::size_t j = i + 1; j < points.size(); ++j) {
      if (points[j].x > points[i].x) {
        slopes.push_back((points[j].y - points[i].y) / (points[j].x - points[i].x));
      }
    }
  }
  return slopes.empty() ? 0 : Median(slopes);
}

double LagProduct(const std::vector<double>& values, std::size_t lag) {
  double sum = 0;
  for (std::size_t i = lag; i < values.size(); ++i) {
    sum += values[i] * values[i - lag];
  }
  return sum;
}

/// Variance of the sum of scores, neighbours up to `lags` apart included.
double NeweyWest(const std::vector<double>& scores, std::size_t lags) {
  double spread = LagProduct(scores, 0);
  for (std::size_t lag = 1; lag <= lags && lag < scores.size(); ++lag) {
    const double weight = 1 - static_cast<double>(lag) / static_cast<double>(lags + 1);
    spread += 2 * weight * LagProduct(scores, lag);
  }
  return std::max(0.0, spread);
}

}  // namespace

std::optional<ClockSlope> RobustSlope(std::span<const LinePoint> points) {
  const std::size_t n = points.size();
  if (n < kLeastPoints || !(points.back().x > points.front().x)) {
    return std::nullopt;
  }
  const auto count = static_cast<double>(n);
  const double slope = MedianSlope(points);
  std::vector<double> residuals;
  double x_mean = 0;
  for (const LinePoint& point : points) {
    x_mean += point.x / count;
    residuals.push_back(point.y - slope * point.x);
  }
  std::vector<double> sorted = residuals;
  const double middle = Median(sorted);
  double sxx = 0;
  std::vector<double> scores;
  for (std::size_t i = 0; i < n; ++i) {
    residuals[i] -= middle;
    sxx += (points[i].x - x_mean) * (points[i].x - x_mean);
    scores.push_back((points[i].x - x_mean) * residuals[i]);
  }
  const double squares = LagProduct(residuals, 0);
  const double correlation =
      squares > 0 ? std::clamp(LagProduct(residuals, 1) / squares, 0.0, kMostCorrelation) : 0;
  // Residuals of a fitted line look less correlated than what they come from (Marriott, Pope 1954).
  const double unbiased =
      std::clamp((count * correlation + 2) / (count - 4), correlation, kMostCorrelation);
  const double inflation = (1 + unbiased) / (1 - unbiased);
  const double freedom = std::max(2.0, count / inflation - 2);
  const double by_ar1 = std::sqrt(squares / (count - 2) / sxx * inflation);
  const auto lags = static_cast<std::size_t>(4 * std::pow(count / 100, 2.0 / 9));
  const double by_lags = std::sqrt(NeweyWest(scores, lags)) / sxx;
  const double quantile = boost::math::quantile(boost::math::students_t(freedom), 0.975);
  const double half = quantile * std::max(by_ar1, by_lags);
  return ClockSlope{slope * kPpm, (slope - half) * kPpm, (slope + half) * kPpm,
                    points.back().x - points.front().x};
}

void ClockLine::Add(double at_s, double ahead_s) {
  if (!std::isfinite(at_s) || !std::isfinite(ahead_s) || at_s < 0) {
    return;
  }
  while (at_s >= stretch_s_ * static_cast<double>(kMostStretches)) {
    Halve();
  }
  const auto index = static_cast<std::size_t>(at_s / stretch_s_);
  if (index >= stretches_.size()) {
    stretches_.resize(index + 1);
  }
  Stretch& stretch = stretches_[index];
  stretch.at_sum += at_s;
  stretch.ahead_sum += ahead_s;
  ++stretch.count;
}

void ClockLine::Halve() {
  for (std::size_t i = 0; i < stretches_.size(); ++i) {
    const Stretch one = stretches_[i];
    stretches_[i] = {};
    Stretch& sum = stretches_[i / 2];
    sum.at_sum += one.at_sum;
    sum.ahead_sum += one.ahead_sum;
    sum.count += one.count;
  }
  stretches_.resize((stretches_.size() + 1) / 2);
  stretch_s_ *= 2;
}

std::optional<ClockSlope> ClockLine::Slope(double tick_s) const {
  std::vector<LinePoint> points;
  for (const Stretch& stretch : stretches_) {
    if (stretch.count > 0) {
      const auto count = static_cast<double>(stretch.count);
      points.push_back({stretch.at_sum / count, stretch.ahead_sum / count});
    }
  }
  auto slope = RobustSlope(points);
  if (slope) {
    const double least_ppm = tick_s / slope->seconds * kPpm;
    slope->low_ppm = std::min(slope->low_ppm, slope->ppm - least_ppm);
    slope->high_ppm = std::max(slope->high_ppm, slope->ppm + least_ppm);
  }
  return slope;
}

ClockSlope SoundEarly(const ClockSlope& sound) {
  return {-sound.ppm, -sound.high_ppm, -sound.low_ppm, sound.seconds};
}

}  // namespace probes
