// SPDX-License-Identifier: Apache-2.0
//
// Speed and CPU of a production that grows, through measured points.

#pragma once

#include <span>
#include <vector>

namespace report {

/// A production at full speed. Work is in any unit, as long as all points have it.
struct LoadPoint {
  double work = 0;
  double speed = 0;  // times real time
  double cpus = 0;   // that it takes in real time
};

/// From `work` up to the next piece. Speed is speed * (work / w)^exponent, for amounts w of work;
/// CPUs grow by `cpus_each` for each unit of it.
struct LoadPiece {
  double work = 0;
  double speed = 0;
  double exponent = 1;
  double cpus = 0;
  double cpus_each = 0;
};

/// Points of ascending work, each with some work and speed; more work is never faster and never
/// takes less, whatever was measured. Beyond the last point speed falls by `exponent_beyond`, and
/// CPUs grow as they did before it; below the first one CPUs are in proportion.
std::vector<LoadPiece> PiecesThrough(std::span<const LoadPoint> points, double exponent_beyond);

double SpeedAt(std::span<const LoadPiece> pieces, double work);
double CpusAt(std::span<const LoadPiece> pieces, double work);

/// The most work in real time: its speed is 1. 0 where there are no pieces, or however little is
/// too slow; infinite where no work is too much.
double WorkAtRealTime(std::span<const LoadPiece> pieces);

}  // namespace report
