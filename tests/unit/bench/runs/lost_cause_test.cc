// SPDX-License-Identifier: Apache-2.0
//
// When a rehearsal may end early.

#include "bench/runs/lost_cause.h"

#include <gtest/gtest.h>

#include "tests/support/sample_rehearsals.h"

namespace bench {
namespace {

// Two outputs at 25: 50 frames a second are due.
constexpr double kSeconds = 20;

TEST(LostCause, ATwentiethOfTheFramesAfterWarmUp) {
  LostCause cause(tests::SmallProduction(), kSeconds);
  EXPECT_FALSE(cause.Look(8 / kSeconds, 7)) << "7 of 150 frames";
  EXPECT_TRUE(cause.Look(9 / kSeconds, 11)) << "11 of 200 frames";
  EXPECT_TRUE(cause.Look(19 / kSeconds, 11)) << "what was found stays found";
}

TEST(LostCause, WhatIsLostWhileWarmingUpDoesNotCount) {
  LostCause cause(tests::SmallProduction(), kSeconds);
  EXPECT_FALSE(cause.Look(4.9 / kSeconds, 500));
  EXPECT_FALSE(cause.Look(12 / kSeconds, 500));
}

TEST(LostCause, TwoSecondsAreLookedAtAtLeast) {
  LostCause cause(tests::SmallProduction(), kSeconds);
  EXPECT_FALSE(cause.Look(6.9 / kSeconds, 90));
  EXPECT_TRUE(cause.Look(7.1 / kSeconds, 90));
}

TEST(LostCause, NothingIsFoundInAShortRun) {
  LostCause cause(tests::SmallProduction(), 6);
  EXPECT_FALSE(cause.Look(1, 300));
}

}  // namespace
}  // namespace bench
