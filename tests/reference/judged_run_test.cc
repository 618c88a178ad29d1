// SPDX-License-Identifier: Apache-2.0
//
// The bound on drops an hour against the textbook relation and the rule of three.

#include "report/judged_run.h"

#include <cmath>

#include <boost/math/distributions/poisson.hpp>
#include <gtest/gtest.h>

namespace report {
namespace {

// Rule of three: no event in n gives at most about 3/n at 95 %; exactly -ln 0.05 = 2.9957.
TEST(DropsPerHourUpper95, NoDropIsTheRuleOfThree) {
  EXPECT_NEAR(DropsPerHourUpper95(0, 1), -std::log(0.05), 1e-9);
  EXPECT_NEAR(DropsPerHourUpper95(0, 10), 3.0 / 10, 0.001);
}

// Exact Poisson upper limits at one-sided 95 % (Garwood's table, from memory): 4.744, 6.296, 7.754
// and 16.962 for 1, 2, 3 and 10 events.
TEST(DropsPerHourUpper95, MatchesTheTabulatedLimits) {
  EXPECT_NEAR(DropsPerHourUpper95(1, 1), 4.744, 0.001);
  EXPECT_NEAR(DropsPerHourUpper95(2, 1), 6.296, 0.001);
  EXPECT_NEAR(DropsPerHourUpper95(3, 1), 7.754, 0.001);
  EXPECT_NEAR(DropsPerHourUpper95(10, 1), 16.962, 0.001);
}

// What the bound means: at that mean, so few events or fewer have a chance of 5 % (the sum of
// Boost's Poisson probabilities, another path than chi-squared).
TEST(DropsPerHourUpper95, LeavesFivePercentBelow) {
  for (int drops : {0, 1, 5, 40, 300}) {
    const boost::math::poisson at_bound(DropsPerHourUpper95(drops, 1));
    double below = 0;
    for (int k = 0; k <= drops; ++k) {
      below += boost::math::pdf(at_bound, k);
    }
    EXPECT_NEAR(below, 0.05, 1e-9) << drops;
  }
}

TEST(HoursToProve, IsTheTimeThatBringsTheBoundDown) {
  EXPECT_NEAR(DropsPerHourUpper95(0, HoursToProve(2)), 2, 1e-9);
  EXPECT_EQ(HoursToProve(0), 0);
  EXPECT_EQ(DropsPerHourUpper95(0, 0), 0);
}

}  // namespace
}  // namespace report
