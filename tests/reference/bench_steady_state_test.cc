// SPDX-License-Identifier: Apache-2.0
//
// The rule: SNIA, Solid State Storage Performance Test Specification 2.0.1,
// definition "Steady State". Within the measurement window of 5 rounds
// (a) Max(y) - Min(y) is no more than 20 % of Ave(y), and
// (b) Max(y) - Min(y) of the best linear fit is within 10 % of Ave(y).
// The rounds are made up; each figure is worked by hand beside it.

#include <array>
#include <vector>

#include <gtest/gtest.h>

#include "bench/disk/steady_state.h"

namespace {

// y = 96, 102, 100, 104, 98. Average 500 / 5 = 100. Range 104 - 96 = 8: 8 %.
// Slope: sum of (x - 2)(y - 100) = -2 x -4 + -1 x 2 + 0 + 1 x 4 + 2 x -2 = 6,
// over sum of (x - 2)^2 = 10: 0.6 a round, 2.4 over the window: 2.4 %.
TEST(SniaSteadyState, HandWorkedWindow) {
  const auto state = bench::FindLastSteadyState(std::array<double, 5>{96, 102, 100, 104, 98});
  EXPECT_TRUE(state.attained);
  EXPECT_EQ(state.first_round, 0U);
  EXPECT_DOUBLE_EQ(state.average, 100);
  EXPECT_DOUBLE_EQ(state.excursion_percent, 8);
  EXPECT_NEAR(state.slope_percent, 2.4, 1e-12);
}

// y = 110, 90, 100, 90, 110: average 100, range 20 (exactly the limit), slope 0.
TEST(SniaSteadyState, RangeOfExactlyTwentyPercentIsSteady) {
  const auto state = bench::FindLastSteadyState(std::array<double, 5>{110, 90, 100, 90, 110});
  EXPECT_TRUE(state.attained);
  EXPECT_DOUBLE_EQ(state.excursion_percent, 20);
}

// y = 110.5, 89.5, 100, 89.5, 110.5: average 100, range 21, slope 0.
TEST(SniaSteadyState, RangeAboveTwentyPercentIsNot) {
  const auto state =
      bench::FindLastSteadyState(std::array<double, 5>{110.5, 89.5, 100, 89.5, 110.5});
  EXPECT_FALSE(state.attained);
  EXPECT_DOUBLE_EQ(state.excursion_percent, 21);
}

// y = 94, 97, 100, 103, 106: average 100, range 12 (allowed), but the line
// itself rises by 12 over the window, above 10.
TEST(SniaSteadyState, SlopeAboveTenPercentIsNot) {
  const auto state = bench::FindLastSteadyState(std::array<double, 5>{94, 97, 100, 103, 106});
  EXPECT_FALSE(state.attained);
  EXPECT_DOUBLE_EQ(state.excursion_percent, 12);
  EXPECT_NEAR(state.slope_percent, 12, 1e-12);
}

// The same falling counts the same: the rule takes Max - Min of the fit.
TEST(SniaSteadyState, FallingSlopeCountsAsMuch) {
  const auto state = bench::FindLastSteadyState(std::array<double, 5>{106, 103, 100, 97, 94});
  EXPECT_FALSE(state.attained);
  EXPECT_NEAR(state.slope_percent, 12, 1e-12);
}

// A fresh drive: 300, 220, 150, 120, 110, 108, 102, 100, 104. The windows
// that start at rounds 0 to 3 have ranges of 190 / 180, 112 / 141.6, 48 / 118
// and 20 / 108 (18.5 %); the last has sum((x - 2)(y - 108)) = -48, a slope of
// -4.8 and 19.2 / 108 = 17.8 %, above 10. From round 4: 110, 108, 102, 100,
// 104: average 104.8, range 10 (9.54 %), sum -20, slope -2, 8 / 104.8 = 7.63 %.
TEST(SniaSteadyState, FreshDriveSettlesAtTheFifthRound) {
  const std::vector<double> rounds = {300, 220, 150, 120, 110, 108, 102, 100, 104};
  const auto state = bench::FindLastSteadyState(rounds);
  EXPECT_TRUE(state.attained);
  EXPECT_EQ(state.first_round, 4U);
  EXPECT_NEAR(state.average, 104.8, 1e-9);
  EXPECT_NEAR(state.excursion_percent, 9.541984732824428, 1e-9);
  EXPECT_NEAR(state.slope_percent, 7.633587786259542, 1e-9);
}

}  // namespace
