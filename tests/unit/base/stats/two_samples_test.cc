// SPDX-License-Identifier: Apache-2.0

#include "base/stats/two_samples.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
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

TEST(CompareBursts, FiveOfThirtyAgainstNoneIsWhatCountingSays) {
  std::vector<double> none(30, 0.0);
  std::vector<double> some = none;
  for (const std::size_t at : {2U, 7U, 13U, 20U, 26U}) {
    some[at] = 1;
  }
  const auto ratio = CompareBursts(none, some);
  ASSERT_TRUE(ratio);
  // All five of 60 fall to one side in 2 C(30,5) / C(60,5) of all ways (hypergeometric).
  EXPECT_NEAR(ratio->p_value, 2 * 142506.0 / 5461512.0, 0.012);
  EXPECT_TRUE(std::isinf(ratio->value));
}

TEST(CompareBursts, ManyEverySecondDifferWhereTheyDo) {
  std::vector<double> before;
  std::vector<double> after;
  for (int second = 0; second < 30; ++second) {
    before.push_back(96 + second * 7 % 10);  // about 100
    after.push_back(110 + second * 7 % 10);
  }
  const auto ratio = CompareBursts(before, after);
  ASSERT_TRUE(ratio);
  EXPECT_LT(ratio->p_value, 0.001);
  EXPECT_NEAR(ratio->value, 114.5 / 100.5, 1e-9);
  EXPECT_GT(ratio->low, 1.1);
  EXPECT_LT(ratio->high, 1.2);
  const auto same = CompareBursts(before, before);
  EXPECT_EQ(same->p_value, 1);
}

TEST(CompareBursts, OneLongBurstIsOneEvent) {
  std::vector<double> before(30, 0.0);
  std::vector<double> after = before;
  std::fill(after.begin() + 10, after.begin() + 20, 100.0);
  const auto ratio = CompareBursts(before, after);
  EXPECT_TRUE(!ratio || ratio->p_value > 0.05);
}

/// Bursts of heavy tails, the same law on both sides: no more alarms than asked for.
TEST(CompareBursts, HoldsItsLevelWhereFramesComeInBursts) {
  std::mt19937 random(11);
  std::geometric_distribution<int> frames(0.02);
  int alarms = 0;
  constexpr int kTrials = 120;
  for (int trial = 0; trial < kTrials; ++trial) {
    std::vector<double> before;
    std::vector<double> after;
    for (int second = 0; second < 30; ++second) {
      before.push_back(random() % 5 == 0 ? 1 + frames(random) : 0);
      after.push_back(random() % 5 == 0 ? 1 + frames(random) : 0);
    }
    const auto ratio = CompareBursts(before, after);
    alarms += ratio && ratio->p_value <= 0.05 ? 1 : 0;
  }
  EXPECT_LE(alarms, 13);  // 5 % of 120 is 6; more than 13 has a chance below 0.003 (binomial)
}

TEST(CompareBursts, SaysNothingOfNothing) {
  EXPECT_FALSE(CompareBursts(std::vector<double>(30), std::vector<double>(30)));
  EXPECT_FALSE(CompareBursts(std::array{1.0}, std::array{1.0, 2.0}));
}

}  // namespace
}  // namespace base
