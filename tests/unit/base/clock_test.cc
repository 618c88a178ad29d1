// SPDX-License-Identifier: Apache-2.0

#include "base/clock.h"

#include <gtest/gtest.h>

namespace {

TEST(SystemClock, NeverReturnsBeforeTheDeadline) {
  base::SystemClock clock;
  const auto deadline = clock.NowNs() + 2'000'000;
  clock.SleepUntilNs(deadline);
  EXPECT_GE(clock.NowNs(), deadline);
}

TEST(SystemClock, ReturnsFromADeadlineThatHasPassed) {
  base::SystemClock clock;
  const auto before = clock.NowNs();
  clock.SleepUntilNs(before - 3'600'000'000'000);
  EXPECT_GE(clock.NowNs(), before);
}

TEST(ManualClock, MovesOnlyWhenTold) {
  base::ManualClock clock;
  EXPECT_EQ(clock.NowNs(), 0);
  clock.AdvanceNs(40);
  EXPECT_EQ(clock.NowNs(), 40);
}

TEST(ManualClock, SleepMovesToTheDeadlineButNeverBack) {
  base::ManualClock clock;
  clock.SleepUntilNs(100);
  EXPECT_EQ(clock.NowNs(), 100);
  clock.SleepUntilNs(50);
  EXPECT_EQ(clock.NowNs(), 100);
}

}  // namespace
