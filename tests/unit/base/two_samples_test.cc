// SPDX-License-Identifier: Apache-2.0

#include "base/two_samples.h"

#include <array>
#include <cmath>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace base {
namespace {

using testing::DoubleNear;
using testing::ElementsAre;

TEST(LagOneCorrelation, OfAnAlternatingSeriesIsNegative) {
  // Deviations -1 +1 -1 +1: products -1 -1 -1 over squares 4.
  EXPECT_DOUBLE_EQ(LagOneCorrelation(std::array{1.0, 3.0, 1.0, 3.0}), -0.75);
}

TEST(LagOneCorrelation, IsNothingForFewOrEqualValues) {
  EXPECT_EQ(LagOneCorrelation({}), 0);
  EXPECT_EQ(LagOneCorrelation(std::array{1.0, 2.0}), 0);
  EXPECT_EQ(LagOneCorrelation(std::array{5.0, 5.0, 5.0, 5.0}), 0);
}

TEST(SummariseWindows, CountsWindowsThatAreAlikeForLess) {
  // Ten low, then ten high: deviations -1 and +1, products 9 - 1 + 9 = 17 over squares 20, so r =
  // 0.85; with its bias of (1 + 4 * 0.85) / 20 = 0.22 it is above 0.99, where it is held.
  std::vector<double> steps(20, 1.0);
  std::fill(steps.begin() + 10, steps.end(), 3.0);
  const SampleSummary summary = SummariseWindows(steps);
  EXPECT_DOUBLE_EQ(summary.mean, 2);
  EXPECT_DOUBLE_EQ(summary.deviation, std::sqrt(20.0 / 19));
  EXPECT_DOUBLE_EQ(summary.count, 2);
}

TEST(SummariseWindows, NeverCountsForMoreThanThereAre) {
  const SampleSummary summary = SummariseWindows(std::array{1.0, 3.0, 1.0, 3.0});
  EXPECT_DOUBLE_EQ(summary.count, 4);
}

TEST(WelchTest, NeedsTwoValuesOnEachSide) {
  EXPECT_FALSE(WelchTest({1, 1, 1}, {2, 1, 10}));
  EXPECT_FALSE(WelchTest({1, 1, 10}, {2, 1, 0}));
  EXPECT_FALSE(WelchTest({1, std::nan(""), 10}, {2, 1, 10}));
}

TEST(WelchTest, WithoutDeviationThereIsNoChance) {
  const auto same = WelchTest({2, 0, 10}, {2, 0, 10});
  ASSERT_TRUE(same);
  EXPECT_EQ(same->p_value, 1);
  const auto apart = WelchTest({2, 0, 10}, {3, 0, 10});
  ASSERT_TRUE(apart);
  EXPECT_EQ(apart->p_value, 0);
  EXPECT_EQ(apart->low, 1);
  EXPECT_EQ(apart->high, 1);
}

TEST(CompareRates, HasNothingToSayWithoutEventsOrTime) {
  EXPECT_FALSE(CompareRates({0, 60}, {0, 60}));
  EXPECT_FALSE(CompareRates({1, 0}, {1, 60}));
  EXPECT_FALSE(CompareRates({-1, 60}, {3, 60}));
  EXPECT_FALSE(CompareRates({1, INFINITY}, {1, 60}));
}

TEST(CompareRates, EndsBothWaysWhenOneSideHadNone) {
  const auto came = CompareRates({0, 60}, {5, 60});
  ASSERT_TRUE(came);
  EXPECT_TRUE(std::isinf(came->high));
  const auto went = CompareRates({5, 60}, {0, 60});
  ASSERT_TRUE(went);
  EXPECT_EQ(went->low, 0);
  EXPECT_EQ(went->value, 0);
  EXPECT_DOUBLE_EQ(went->p_value, came->p_value);
}

TEST(CompareRates, TakesCountsThatNoRunMakes) {
  const auto huge = CompareRates({1'000'000'000'000, 1e6}, {1'000'000'000'001, 1e6});
  ASSERT_TRUE(huge);
  EXPECT_GT(huge->p_value, 0.9);
}

TEST(AdjustedByHolm, KeepsTheOrderAndNeverFalls) {
  // 0.01 x 3, 0.02 x 2, 0.04 x 1, in the order given; then a tie carried along, and 1 at most.
  EXPECT_THAT(
      AdjustedByHolm(std::array{0.02, 0.01, 0.04}),
      ElementsAre(DoubleNear(0.04, 1e-12), DoubleNear(0.03, 1e-12), DoubleNear(0.04, 1e-12)));
  EXPECT_THAT(AdjustedByHolm(std::array{0.9, 0.8}), ElementsAre(1, 1));
  EXPECT_THAT(AdjustedByHolm({}), ElementsAre());
}

}  // namespace
}  // namespace base
