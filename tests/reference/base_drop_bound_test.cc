// SPDX-License-Identifier: Apache-2.0
//
// Exact upper limits of a Poisson count: F. Garwood, Biometrika 28 (1936).

#include <cmath>

#include <gtest/gtest.h>

#include "base/stats/drop_bound.h"

namespace {

constexpr double kHour = 3600;

// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, critical values
// of the chi-squared distribution, upper tail 0.05 (from memory): 5.991 at 2
// degrees of freedom, 9.488 at 4, 12.592 at 6, 15.507 at 8, 21.026 at 12,
// 31.410 at 20. The limit on a count of n is half the value at 2 (n + 1).
TEST(PoissonUpper95, IsHalfTheTabledChiSquared) {
  EXPECT_NEAR(base::DropsPerHourUpper95(0, kHour), 5.991 / 2, 5e-4);
  EXPECT_NEAR(base::DropsPerHourUpper95(1, kHour), 9.488 / 2, 5e-4);
  EXPECT_NEAR(base::DropsPerHourUpper95(2, kHour), 12.592 / 2, 5e-4);
  EXPECT_NEAR(base::DropsPerHourUpper95(3, kHour), 15.507 / 2, 5e-4);
  EXPECT_NEAR(base::DropsPerHourUpper95(5, kHour), 21.026 / 2, 5e-4);
  EXPECT_NEAR(base::DropsPerHourUpper95(9, kHour), 31.410 / 2, 5e-4);
}

// Exact one-sided 95 % limits (Garwood's table, from memory).
TEST(PoissonUpper95, MatchesTheTabledLimits) {
  EXPECT_NEAR(base::DropsPerHourUpper95(1, kHour), 4.744, 0.001);
  EXPECT_NEAR(base::DropsPerHourUpper95(2, kHour), 6.296, 0.001);
  EXPECT_NEAR(base::DropsPerHourUpper95(3, kHour), 7.754, 0.001);
  EXPECT_NEAR(base::DropsPerHourUpper95(10, kHour), 16.962, 0.001);
}

// What the limit is: the mean at which so few events still happen one time in
// twenty. The Poisson sum is taken term by term.
TEST(PoissonUpper95, LeavesOneChanceInTwenty) {
  for (const int drops : {0, 1, 2, 7, 40, 150}) {
    const double mean = base::DropsPerHourUpper95(drops, kHour);
    double term = std::exp(-mean);
    double chance = term;
    for (int k = 1; k <= drops; ++k) {
      term *= mean / k;
      chance += term;
    }
    EXPECT_NEAR(chance, 0.05, 1e-9) << drops;
  }
}

// The rule of three (Hanley and Lippman-Hand, JAMA 249, 1983): no event in n
// trials bounds the rate by about 3 / n; exactly -ln 0.05 = 2.9957 / n.
TEST(RuleOfThree, HoldsForRunsWithoutDrops) {
  EXPECT_NEAR(base::DropsPerHourUpper95(0, 10 * kHour), 3.0 / 10, 0.001);
  EXPECT_NEAR(base::DropsPerHourUpper95(0, kHour), -std::log(0.05), 1e-12);
  EXPECT_NEAR(base::SecondsToProve(1) / kHour, 3, 0.005);
}

}  // namespace
