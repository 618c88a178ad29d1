#include "probes/clock_line.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace probes {
namespace {

constexpr std::size_t kMostStretches = 2048;
constexpr std::size_t kLeastStretches = 8;
constexpr double kNormal95 = 1.959964;  // standard normal, 97.5 %
constexpr double kPpm = 1e6;

}  // namespace

void ClockLine::Add(double at_s, double ahead_s) {
  if (!std::isfinite(at_s) || !std::isfinite(ahead_s)) {
    return;
  }
  zero_s_ = zero_s_.value_or(at_s);
  const double since_s = at_s - *zero_s_;
  if (since_s < 0) {
    return;
  }
  while (since_s >= stretch_s_ * static_cast<double>(kMostStretches)) {
    Halve();
  }
  const auto index = static_cast<std::size_t>(since_s / stretch_s_);
  if (index >= stretches_.size()) {
    stretches_.resize(index + 1);
  }
  Stretch& stretch = stretches_[index];
  stretch.at_sum += since_s;
  stretch.ahead_sum += ahead_s;
  ++stretch.count;
}

void ClockLine::Halve() {
  for (std::size_t i = 0; i < stretches_.size(); i += 2) {
    Stretch sum = stretches_[i];
    if (i + 1 < stretches_.size()) {
      sum.at_sum += stretches_[i + 1].at_sum;
      sum.ahead_sum += stretches_[i + 1].ahead_sum;
      sum.count += stretches_[i + 1].count;
    }
    stretches_[i / 2] = sum;
  }
  stretches_.resize((stretches_.size() + 1) / 2);
  stretch_s_ *= 2;
}

std::vector<ClockLine::Stretch> ClockLine::Full() const {
  std::vector<Stretch> full;
  std::copy_if(stretches_.begin(), stretches_.end(), std::back_inserter(full),
               [](const Stretch& one) { return one.count > 0; });
  return full;
}

std::optional<ClockSlope> ClockLine::Slope() const {
  const std::vector<Stretch> full = Full();
  const std::size_t n = full.size();
  if (n < kLeastStretches) {
    return std::nullopt;
  }
  std::vector<double> x(n);
  std::vector<double> y(n);
  double x_mean = 0;
  double y_mean = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const auto count = static_cast<double>(full[i].count);
    x[i] = full[i].at_sum / count;
    y[i] = full[i].ahead_sum / count;
    x_mean += x[i] / static_cast<double>(n);
    y_mean += y[i] / static_cast<double>(n);
  }
  double sxx = 0;
  double sxy = 0;
  for (std::size_t i = 0; i < n; ++i) {
    sxx += (x[i] - x_mean) * (x[i] - x_mean);
    sxy += (x[i] - x_mean) * (y[i] - y_mean);
  }
  if (sxx <= 0) {
    return std::nullopt;
  }
  const double slope = sxy / sxx;
  std::vector<double> score(n);
  for (std::size_t i = 0; i < n; ++i) {
    score[i] = (x[i] - x_mean) * (y[i] - y_mean - slope * (x[i] - x_mean));
  }
  const auto lags = static_cast<std::size_t>(4 * std::pow(static_cast<double>(n) / 100, 2.0 / 9));
  double spread = 0;
  for (std::size_t lag = 0; lag <= lags && lag < n; ++lag) {
    double sum = 0;
    for (std::size_t i = lag; i < n; ++i) {
      sum += score[i] * score[i - lag];
    }
    const double weight = 1 - static_cast<double>(lag) / static_cast<double>(lags + 1);
    spread += (lag == 0 ? 1 : 2 * weight) * sum;
  }
  const double error = std::sqrt(std::max(0.0, spread)) / sxx;
  return ClockSlope{slope * kPpm, kNormal95 * error * kPpm, x.back() - x.front()};
}

std::optional<ClockSlope> Between(const ClockSlope& sound, const ClockSlope& pictures) {
  return ClockSlope{sound.ppm - pictures.ppm,
                    std::hypot(sound.half_width_ppm, pictures.half_width_ppm),
                    std::min(sound.seconds, pictures.seconds)};
}

}  // namespace probes
