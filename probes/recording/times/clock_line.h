// SPDX-License-Identifier: Apache-2.0
//
// How the clock of a track runs against its own timestamps, in memory that does not grow.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "probes/data/recording.h"

namespace probes {

/// One point of a line.
struct LinePoint {
  double x = 0;
  double y = 0;
};

/// The median of the slopes between all pairs of points (Theil 1950, Sen 1968), in millionths, with
/// a 95 % interval around it. The interval allows for neighbours that are not independent: its
/// error is the larger one of Newey and West's (Econometrica 55, 1987) and of an AR(1) process with
/// the residuals' lag-1 correlation, and its quantile Student's at the points that are then worth
/// one independent each. Points in the order of x; nothing below eight, or without extent.
std::optional<ClockSlope> RobustSlope(std::span<const LinePoint> points);

/// Collects how far what a track carries (pictures x period, samples / rate) has moved away
/// from its timestamps.
class ClockLine {
 public:
  /// After `at_s` (which never falls) the track had carried `ahead_s` more than its stamps tell.
  void Add(double at_s, double ahead_s);
  /// Of the means of equal stretches of at least a second. `tick_s`: to what stamps are rounded;
  /// over the whole extent no line is known better than that.
  std::optional<ClockSlope> Slope(double tick_s) const;

 private:
  struct Stretch {
    double at_sum = 0;
    double ahead_sum = 0;
    std::int64_t count = 0;
  };
  void Halve();

  double stretch_s_ = 1;
  std::vector<Stretch> stretches_;
};

/// Sound by its samples against its stamps, by which pictures are shown: positive where it comes
/// early, more and more.
ClockSlope SoundEarly(const ClockSlope& sound);

}  // namespace probes
