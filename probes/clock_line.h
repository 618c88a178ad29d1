// SPDX-License-Identifier: Apache-2.0
//
// How the clock of a track runs against its own timestamps, in memory that does not grow.

#pragma once

#include <cstdint>
#include <optional>
#include <vector>

namespace probes {

/// Slope of a straight line with the half width of its 95 % interval.
struct ClockSlope {
  double ppm = 0;
  double half_width_ppm = 0;
  double seconds = 0;  // that it rests on
};

/// Collects how far what a track carries (pictures x period, samples / rate) has moved away
/// from its timestamps.
class ClockLine {
 public:
  /// At `at_s` the track had carried `ahead_s` more than the time that its stamps tell.
  void Add(double at_s, double ahead_s);
  /// Least squares over the means of equal stretches, with an interval by Newey and
  /// West (Econometrica 55, 1987), as neighbours are not independent. Nothing below
  /// eight stretches.
  std::optional<ClockSlope> Slope() const;

 private:
  struct Stretch {
    double at_sum = 0;
    double ahead_sum = 0;
    std::int64_t count = 0;
  };
  std::vector<Stretch> Full() const;
  void Halve();

  double stretch_s_ = 1;
  std::optional<double> zero_s_;
  std::vector<Stretch> stretches_;
};

/// Sound against pictures: positive when sound runs fast.
std::optional<ClockSlope> Between(const ClockSlope& sound, const ClockSlope& pictures);

}  // namespace probes
