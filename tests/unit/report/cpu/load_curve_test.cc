// SPDX-License-Identifier: Apache-2.0
//
// The curve through measured loads: sums worked by hand, and that more work is never faster.

#include "report/cpu/load_curve.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

namespace report {
namespace {

TEST(LoadCurve, OnePointFallsByItsExponent) {
  const auto pieces = PiecesThrough(std::vector<LoadPoint>{{2, 4, 1}}, 1);
  EXPECT_DOUBLE_EQ(SpeedAt(pieces, 2), 4);
  EXPECT_DOUBLE_EQ(SpeedAt(pieces, 4), 2);
  EXPECT_DOUBLE_EQ(WorkAtRealTime(pieces), 8);
  EXPECT_DOUBLE_EQ(CpusAt(pieces, 8), 4);
  EXPECT_DOUBLE_EQ(CpusAt(pieces, 1), 0.5);
}

TEST(LoadCurve, BetweenPointsSpeedIsAPowerAndCpusAreALine) {
  // Four times the work at half the speed: exponent 1/2.
  const auto pieces = PiecesThrough(std::vector<LoadPoint>{{1, 4, 1}, {4, 2, 2.5}}, 1);
  EXPECT_DOUBLE_EQ(SpeedAt(pieces, 2), 4 / std::sqrt(2.0));
  EXPECT_DOUBLE_EQ(CpusAt(pieces, 2), 1.5);
  EXPECT_DOUBLE_EQ(SpeedAt(pieces, 4), 2);
  EXPECT_DOUBLE_EQ(WorkAtRealTime(pieces), 8);  // beyond it speed falls as work grows
  EXPECT_DOUBLE_EQ(CpusAt(pieces, 8), 4.5);     // and CPUs grow as before
}

TEST(LoadCurve, RealTimeLiesBetweenThePointsOnBothSidesOfIt) {
  const auto pieces =
      PiecesThrough(std::vector<LoadPoint>{{1, 8, 1}, {4, 1.25, 3.5}, {5, 0.8, 4.5}}, 1);
  // From 1.25 to 0.8 by the power law through both: the middle of their logarithms.
  EXPECT_NEAR(WorkAtRealTime(pieces), std::sqrt(4.0 * 5.0), 1e-9);
  EXPECT_NEAR(SpeedAt(pieces, std::sqrt(20.0)), 1, 1e-12);
}

TEST(LoadCurve, ReachesRealTimeBelowTheFirstPointToo) {
  const auto pieces = PiecesThrough(std::vector<LoadPoint>{{4, 0.5, 4}}, 1);
  EXPECT_DOUBLE_EQ(WorkAtRealTime(pieces), 2);
}

TEST(LoadCurve, OfNothingTellsNothing) {
  EXPECT_EQ(WorkAtRealTime({}), 0);
  EXPECT_EQ(CpusAt({}, 1), 0);
  EXPECT_TRUE(std::isinf(SpeedAt({}, 1)));
  EXPECT_TRUE(std::isinf(SpeedAt(PiecesThrough(std::vector<LoadPoint>{{1, 1, 1}}, 1), 0)));
}

TEST(LoadCurve, MoreWorkIsNeverFasterNorCheaperWhateverWasMeasured) {
  std::mt19937 random(15);
  std::uniform_real_distribution<double> some(0.1, 5);
  for (int round = 0; round < 200; ++round) {
    std::vector<LoadPoint> points;
    double work = 0;
    for (int i = 0; i < 4; ++i) {
      work += some(random);
      points.push_back({work, some(random), some(random)});
    }
    const auto pieces = PiecesThrough(points, 0.5 + 0.1 * some(random));
    double speed = SpeedAt(pieces, 0.05);
    double cpus = CpusAt(pieces, 0.05);
    for (double at = 0.1; at < 2 * work; at += 0.05) {
      EXPECT_LE(SpeedAt(pieces, at), speed * (1 + 1e-9)) << round << " at " << at;
      EXPECT_GE(CpusAt(pieces, at), cpus - 1e-9) << round << " at " << at;
      speed = SpeedAt(pieces, at);
      cpus = CpusAt(pieces, at);
    }
    const double most = WorkAtRealTime(pieces);
    if (most > 0) {
      EXPECT_GE(SpeedAt(pieces, most * (1 - 1e-9)), 1 - 1e-6) << round;
      EXPECT_LE(SpeedAt(pieces, most * (1 + 1e-6)), 1 + 1e-6) << round;
    } else {
      EXPECT_LT(SpeedAt(pieces, 1e-3), 1) << round;
    }
  }
}

}  // namespace
}  // namespace report
