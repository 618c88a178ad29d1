// SPDX-License-Identifier: Apache-2.0

#include "base/stats/change_point.h"

#include <cmath>
#include <limits>
#include <vector>

#include <gtest/gtest.h>

namespace {

using base::FindStep;
using base::FindSteps;

std::vector<double> Levels(const std::vector<double>& levels, int each) {
  std::vector<double> samples;
  for (const double level : levels) {
    for (int i = 0; i < each; ++i) {
      samples.push_back(level + (i % 3) - 1);  // a ripple without a trend
    }
  }
  return samples;
}

TEST(FindStep, FindsNothingInNothing) {
  EXPECT_FALSE(FindStep({}));
  EXPECT_FALSE(FindStep(std::vector<double>(1, 5)));
  EXPECT_FALSE(FindStep(std::vector<double>(500, 0.1)));
}

TEST(FindStep, FindsWhereTheLevelFalls) {
  const auto step = FindStep(Levels({100, 40}, 12));
  ASSERT_TRUE(step);
  EXPECT_EQ(step->at, 12U);
  EXPECT_EQ(step->before, 100);
  EXPECT_EQ(step->after, 40);
  EXPECT_LE(step->p_value, 0.01);
}

TEST(FindStep, NeedsEnoughSamplesToRuleOutChance) {
  // Of the 20 ways to part six samples in two threes, two are as strong.
  EXPECT_FALSE(FindStep(std::vector<double>{9, 9, 9, 1, 1, 1}));
}

TEST(FindStep, TakesOneOutlierForNoLevel) {
  auto samples = Levels({100}, 30);
  samples[17] = 5;
  EXPECT_FALSE(FindStep(samples));
}

TEST(FindStep, GivesTheSameAnswerTwice) {
  const auto samples = Levels({100, 99, 100, 98}, 10);
  const auto first = FindStep(samples);
  const auto second = FindStep(samples);
  EXPECT_EQ(first.has_value(), second.has_value());
  if (first && second) {
    EXPECT_EQ(first->p_value, second->p_value);
  }
}

TEST(FindStep, LeavesSamplesThatAreNoNumbersAlone) {
  auto samples = Levels({100, 40}, 12);
  samples[3] = std::numeric_limits<double>::quiet_NaN();
  EXPECT_FALSE(FindStep(samples));
  samples[3] = std::numeric_limits<double>::infinity();
  EXPECT_FALSE(FindStep(samples));
}

TEST(FindSteps, FindsEachChangeOfLevelInOrder) {
  const auto steps = FindSteps(Levels({100, 40, 70}, 15));
  ASSERT_EQ(steps.size(), 2U);
  EXPECT_EQ(steps[0].at, 15U);
  EXPECT_EQ(steps[0].before, 100);
  EXPECT_EQ(steps[0].after, 40);
  EXPECT_EQ(steps[1].at, 30U);
  EXPECT_EQ(steps[1].before, 40);
  EXPECT_EQ(steps[1].after, 70);
}

}  // namespace
