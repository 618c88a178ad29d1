// SPDX-License-Identifier: Apache-2.0

#include "bench/ballast/verdict.h"

#include <gtest/gtest.h>

namespace bench {
namespace {

Ledger::Totals At(std::int64_t due, std::int64_t delivered, std::int64_t dropped,
                  std::int64_t late) {
  Ledger::Totals totals;
  totals.due = due;
  totals.delivered = delivered;
  totals.dropped = dropped;
  totals.late = late;
  return totals;
}

/// Looks at one output over 60 frames whose backlog goes from 2 to `backlog_ended`.
HoldAccount Held(std::int64_t dropped, std::int64_t late, std::int64_t backlog_ended) {
  HoldAccount account;
  for (int look = 0; look <= 12; ++look) {
    const std::int64_t due = 100 + 5 * look;
    const std::int64_t backlog = 2 + (backlog_ended - 2) * look / 12;
    const std::int64_t lost = look == 12 ? dropped : 0;
    account.Look({At(due, due - backlog - lost, lost, late * look / 12)});
  }
  return account;
}

TEST(HoldAccount, CountsWhatHappenedBetweenItsLooks) {
  const HoldAccount account = Held(3, 12, 2);
  ASSERT_EQ(account.Outputs().size(), 1U);
  EXPECT_EQ(account.Outputs()[0].delivered, 57);
  EXPECT_EQ(account.dropped(), 3);
  EXPECT_EQ(account.late(), 12);
  EXPECT_DOUBLE_EQ(account.Outputs()[0].backlog_begun, 2);
}

TEST(HoldAccount, IsEmptyBeforeItsFirstLook) {
  EXPECT_TRUE(HoldAccount().Outputs().empty());
  EXPECT_EQ(HoldAccount().dropped(), 0);
}

TEST(Carried, AsksForNoDrop) {
  EXPECT_TRUE(Carried(Held(0, 0, 2).Outputs(), {0}));
  EXPECT_FALSE(Carried(Held(1, 0, 2).Outputs(), {0}));
}

TEST(Carried, SeesAnOutputThatFallsBehindBeforeItDrops) {
  EXPECT_FALSE(Carried(Held(0, 30, 6).Outputs(), {0}));
}

TEST(Carried, TakesAStandingDelayForNoOverload) {
  EXPECT_TRUE(Carried(Held(0, 30, 2).Outputs(), {0}));
}

TEST(Carried, MeasuresLatenessByTheProductionItself) {
  // Half its frames are late without any extra load: 30 of 60 are nothing new.
  EXPECT_TRUE(Carried(Held(0, 30, 6).Outputs(), {0.5}));
  EXPECT_FALSE(Carried(Held(0, 30, 6).Outputs(), {0.05}));
}

TEST(LateShares, AreOfDeliveredFrames) {
  const auto shares = LateShares({{.delivered = 50, .dropped = 0, .late = 5}, {}});
  ASSERT_EQ(shares.size(), 2U);
  EXPECT_DOUBLE_EQ(shares[0], 0.1);
  EXPECT_DOUBLE_EQ(shares[1], 0);
}

}  // namespace
}  // namespace bench
