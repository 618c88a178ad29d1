// SPDX-License-Identifier: Apache-2.0

#include "base/stats/percentile.h"

#include <array>
#include <vector>

#include <gtest/gtest.h>

namespace {

TEST(Percentile, IsZeroWithoutSamples) {
  EXPECT_EQ(base::Percentile({}, 50), 0);
  EXPECT_EQ(base::Mean({}), 0);
  EXPECT_EQ(base::Slope({}), 0);
}

// The nearest-rank example of the encyclopedia article "Percentile" (ordered
// list 15, 20, 35, 40, 50), from memory.
TEST(Percentile, TakesTheNearestRank) {
  const std::array<double, 5> samples = {35, 15, 50, 20, 40};
  EXPECT_EQ(base::Percentile(samples, 5), 15);
  EXPECT_EQ(base::Percentile(samples, 30), 20);
  EXPECT_EQ(base::Percentile(samples, 40), 20);
  EXPECT_EQ(base::Percentile(samples, 50), 35);
  EXPECT_EQ(base::Percentile(samples, 100), 50);
}

TEST(Percentile, StaysInsideTheSamples) {
  const std::array<double, 2> samples = {1, 2};
  EXPECT_EQ(base::Percentile(samples, 0), 1);
  EXPECT_EQ(base::Percentile(samples, -3), 1);
  EXPECT_EQ(base::Percentile(samples, 120), 2);
}

// Hand-worked: x = 0, 1, 2, 3 and y = 1, 3, 2, 6. Means 1.5 and 3; the sum of
// products is 7, the sum of squares 5.
TEST(Slope, IsTheLeastSquaresSlope) {
  EXPECT_DOUBLE_EQ(base::Slope(std::array<double, 4>{1, 3, 2, 6}), 7.0 / 5.0);
}

TEST(Slope, IsZeroForALevelSeries) {
  EXPECT_EQ(base::Slope(std::vector<double>(9, 4.25)), 0);
}

}  // namespace
