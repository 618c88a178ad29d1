// SPDX-License-Identifier: Apache-2.0
//
// The search against simulated machines whose threshold is known.

#include "bench/ballast/search.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

namespace bench {
namespace {

/// Carries every level up to `threshold`; a share of holds is disturbed from outside.
class SimulatedMachine {
 public:
  explicit SimulatedMachine(double threshold, double disturbed = 0, unsigned seed = 1)
      : threshold_(threshold), disturbed_(disturbed), random_(seed) {}

  bool Carries(double level) {
    return level <= threshold_ && !std::bernoulli_distribution(disturbed_)(random_);
  }

  int Search(BallastSearch& search) {
    int holds = 0;
    while (const auto level = search.Next()) {
      search.Took(*level, *level, Carries(*level));
      ++holds;
    }
    return holds;
  }

 private:
  double threshold_;
  double disturbed_;
  std::mt19937 random_;
};

BallastSearchRule Rule(double most, double guess, double resolution) {
  BallastSearchRule rule;
  rule.most = most;
  rule.first_guess = guess;
  rule.resolution = resolution;
  return rule;
}

TEST(BallastSearch, ClosesInOnAnyThresholdInTheHoldsThatHalvingNeeds) {
  for (int hundredths = 2; hundredths < 195; ++hundredths) {
    const double threshold = hundredths / 100.0;
    SCOPED_TRACE(threshold);
    BallastSearch search(Rule(2, 1.2, 0.05));
    const int holds = SimulatedMachine(threshold).Search(search);
    ASSERT_TRUE(search.complete());
    ASSERT_TRUE(search.dropped_at());
    EXPECT_LE(search.carried().value_or(0), threshold);
    EXPECT_GT(*search.dropped_at(), threshold);
    EXPECT_LE(*search.dropped_at() - search.carried().value_or(0), 0.05 + 1e-9);
    // The guess, halvings of 2 down to 0.05, one look at the top, one confirmation of each end.
    EXPECT_LE(holds, 1 + static_cast<int>(std::ceil(std::log2(2 / 0.05))) + 1 + 2);
  }
}

TEST(BallastSearch, HoldsEachEndAsOftenAsAsked) {
  for (const int confirmations : {0, 1, 3}) {
    BallastSearchRule rule = Rule(2, 1, 0.1);
    rule.confirmations = confirmations;
    BallastSearch search(rule);
    SimulatedMachine(1.33).Search(search);
    EXPECT_EQ(search.carried_holds(), 1 + confirmations);
    EXPECT_EQ(search.dropped_holds(), 1 + confirmations);
  }
}

TEST(BallastSearch, SaysThatNothingDroppedAtTheTop) {
  BallastSearch search(Rule(2, 2, 0.1));
  EXPECT_EQ(SimulatedMachine(100).Search(search), 2);  // the top, and once more
  EXPECT_TRUE(search.complete());
  EXPECT_DOUBLE_EQ(*search.carried(), 2);
  EXPECT_FALSE(search.dropped_at());
}

TEST(BallastSearch, LooksAtTheTopBeforeItCallsItTooMuch) {
  BallastSearch search(Rule(2, 1, 0.3));
  SimulatedMachine(100).Search(search);
  EXPECT_DOUBLE_EQ(*search.carried(), 2);
  EXPECT_FALSE(search.dropped_at());
}

TEST(BallastSearch, FindsThatNothingIsLeft) {
  BallastSearch search(Rule(2, 0.1, 0.1));
  SimulatedMachine(0).Search(search);
  EXPECT_TRUE(search.complete());
  EXPECT_FALSE(search.carried());
  EXPECT_LE(*search.dropped_at(), 0.1);
}

TEST(BallastSearch, IsNotMisledByOneDisturbedHold) {
  BallastSearch search(Rule(2, 1, 0.1));
  SimulatedMachine machine(1.5);
  bool disturbed = false;
  while (const auto level = search.Next()) {
    const bool disturb = !disturbed && *level > 1.2;
    disturbed = disturbed || disturb;
    search.Took(*level, *level, machine.Carries(*level) && !disturb);
  }
  EXPECT_TRUE(search.complete());
  EXPECT_GT(*search.carried(), 1.38);
  EXPECT_LE(*search.carried(), 1.5);
}

TEST(BallastSearch, MostlyComesNearWhereOneHoldInTenIsDisturbed) {
  int near = 0;
  constexpr int kRounds = 200;
  for (unsigned seed = 0; seed < kRounds; ++seed) {
    BallastSearchRule rule = Rule(2, 1.2, 0.05);
    rule.confirmations = 2;
    BallastSearch search(rule);
    const int holds = SimulatedMachine(1.4, 0.1, seed).Search(search);
    EXPECT_LE(holds, rule.most_holds);
    EXPECT_LE(search.carried().value_or(0), 1.4);  // never above: disturbances only add drops
    near += search.carried().value_or(0) > 1.4 - 0.15 ? 1 : 0;
  }
  EXPECT_GE(near, kRounds * 9 / 10);
}

TEST(BallastSearch, EndsWhenItsHoldsAreUsedUp) {
  BallastSearchRule rule = Rule(2, 1, 1e-6);
  rule.most_holds = 7;
  BallastSearch search(rule);
  EXPECT_EQ(SimulatedMachine(1.23456).Search(search), 7);
  EXPECT_FALSE(search.complete());
}

TEST(BallastSearch, TakesALoadThatCannotBeMadeAsTheTop) {
  // A disk that gives 300 of the 8000 asked for, and the production does not mind.
  BallastSearch search(Rule(8000, 8000, 100));
  int holds = 0;
  while (const auto level = search.Next()) {
    search.Took(*level, 300, true);
    ++holds;
  }
  EXPECT_EQ(holds, 2);
  EXPECT_TRUE(search.complete());
  EXPECT_FALSE(search.dropped_at());
}

TEST(BallastSearch, GoesOnFromWhatWasMadeWhenThatDropped) {
  // The same disk, and everything above 200 is too much for the production.
  BallastSearch search(Rule(8000, 8000, 20));
  int holds = 0;
  while (const auto level = search.Next()) {
    const double used = *level < 300 ? *level : 300;
    search.Took(*level, used, used <= 200);
    ++holds;
  }
  EXPECT_TRUE(search.complete());
  EXPECT_LE(*search.carried(), 200);
  EXPECT_GT(*search.dropped_at(), 200);
  EXPECT_LE(holds, 10);
}

TEST(BallastSearch, AsksForNothingWhereThereIsNothingToMake) {
  EXPECT_FALSE(BallastSearch(Rule(0, 1, 0.1)).Next());
}

}  // namespace
}  // namespace bench
