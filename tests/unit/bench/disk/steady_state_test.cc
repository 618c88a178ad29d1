// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/steady_state.h"

#include <vector>

#include <gtest/gtest.h>

namespace {

using bench::FindLastSteadyState;

TEST(FindLastSteadyState, NeedsAWholeWindow) {
  EXPECT_FALSE(FindLastSteadyState({}).attained);
  EXPECT_FALSE(FindLastSteadyState(std::vector<double>(4, 100)).attained);
  EXPECT_TRUE(FindLastSteadyState(std::vector<double>(5, 100)).attained);
}

TEST(FindLastSteadyState, IsNeverAttainedByADeadDisk) {
  const auto state = FindLastSteadyState(std::vector<double>(9, 0));
  EXPECT_FALSE(state.attained);
  EXPECT_EQ(state.average, 0);
}

TEST(FindLastSteadyState, TakesTheLastWindow) {
  // A plateau, a fall, and a lower plateau.
  const std::vector<double> rounds = {100, 100, 100, 100, 100, 60, 30, 30, 30, 30, 30};
  EXPECT_EQ(FindLastSteadyState(rounds).first_round, 6U);
  EXPECT_EQ(FindLastSteadyState(rounds).average, 30);
}

TEST(FindLastSteadyState, ShowsTheNearestWindowWhenNoneIsSteady) {
  const std::vector<double> rounds = {100, 10, 100, 10, 100, 50, 100, 60, 100};
  const auto state = FindLastSteadyState(rounds);
  EXPECT_FALSE(state.attained);
  EXPECT_EQ(state.first_round, 4U);
  EXPECT_NEAR(state.excursion_percent, 100 * 50 / 82.0, 1e-9);
}

TEST(FindLastSteadyState, TakesAnotherRule) {
  const std::vector<double> rounds = {100, 130, 100};
  EXPECT_FALSE(FindLastSteadyState(rounds, {3, 20, 10}).attained);
  EXPECT_TRUE(FindLastSteadyState(rounds, {3, 30, 10}).attained);
  EXPECT_FALSE(FindLastSteadyState(rounds, {0, 30, 10}).attained);
}

}  // namespace
