#include "bench/steady_state.h"

#include <vector>

#include <gtest/gtest.h>

namespace {

using bench::FindLastSteadyState;
using bench::FindSteadyState;

TEST(FindSteadyState, NeedsAWholeWindow) {
  EXPECT_FALSE(FindSteadyState({}).attained);
  EXPECT_FALSE(FindSteadyState(std::vector<double>(4, 100)).attained);
  EXPECT_TRUE(FindSteadyState(std::vector<double>(5, 100)).attained);
}

TEST(FindSteadyState, IsNeverAttainedByADeadDisk) {
  const auto state = FindSteadyState(std::vector<double>(9, 0));
  EXPECT_FALSE(state.attained);
  EXPECT_EQ(state.average, 0);
}

TEST(FindSteadyState, TakesTheFirstAndTheLastWindow) {
  // A plateau, a fall, and a lower plateau.
  const std::vector<double> rounds = {100, 100, 100, 100, 100, 60, 30, 30, 30, 30, 30};
  EXPECT_EQ(FindSteadyState(rounds).first_round, 0U);
  EXPECT_EQ(FindSteadyState(rounds).average, 100);
  EXPECT_EQ(FindLastSteadyState(rounds).first_round, 6U);
  EXPECT_EQ(FindLastSteadyState(rounds).average, 30);
}

TEST(FindSteadyState, ShowsTheNearestWindowWhenNoneIsSteady) {
  const std::vector<double> rounds = {100, 10, 100, 10, 100, 50, 100, 60, 100};
  const auto state = FindSteadyState(rounds);
  EXPECT_FALSE(state.attained);
  EXPECT_EQ(state.first_round, 4U);
  EXPECT_NEAR(state.excursion_percent, 100 * 50 / 82.0, 1e-9);
}

TEST(FindSteadyState, TakesAnotherRule) {
  const std::vector<double> rounds = {100, 130, 100};
  EXPECT_FALSE(FindSteadyState(rounds, {3, 20, 10}).attained);
  EXPECT_TRUE(FindSteadyState(rounds, {3, 30, 10}).attained);
  EXPECT_FALSE(FindSteadyState(rounds, {0, 30, 10}).attained);
}

}  // namespace
