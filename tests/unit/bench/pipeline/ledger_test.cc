// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/ledger.h"

#include <gtest/gtest.h>

namespace bench {
namespace {

TEST(DueNs, IsExactForFractionalRates) {
  EXPECT_EQ(DueNs(0, {60000, 1001}), 0);
  EXPECT_EQ(DueNs(1, {60000, 1001}), 16'683'333);
  // 60000 frames at 60000/1001 take exactly 1001 s.
  EXPECT_EQ(DueNs(60000, {60000, 1001}), 1'001'000'000'000);
  // A day of it does not overflow.
  EXPECT_EQ(DueNs(86400LL * 60, {60, 1}), 86'400'000'000'000);
}

TEST(Ledger, SortsFramesIntoTheSecondTheyFellDueIn) {
  Ledger ledger(25);
  for (std::int64_t frame = 0; frame < 50; ++frame) {
    ledger.Due(frame);
    frame == 30 ? ledger.Dropped(frame, Stage::kEncode) : ledger.Delivered(frame, 1000, frame);
  }
  ASSERT_EQ(ledger.windows().size(), 2U);
  EXPECT_EQ(ledger.windows()[0], (LedgerWindow{25, 25, 0, 0}));
  EXPECT_EQ(ledger.windows()[1], (LedgerWindow{25, 24, 1, 0}));
}

TEST(Ledger, CallsAFrameLateBeyondOnePeriod) {
  Ledger ledger(25);
  ledger.Due(0);
  ledger.Delivered(0, 40'000'000, 0);
  ledger.Due(1);
  ledger.Delivered(1, 40'000'001, 0);
  EXPECT_EQ(ledger.totals().late, 1);
}

TEST(Ledger, JoinsConsecutiveDropsOfOneStage) {
  Ledger ledger(25);
  for (std::int64_t frame = 0; frame < 10; ++frame) {
    ledger.Due(frame);
  }
  for (const std::int64_t frame : {2, 3, 4}) {
    ledger.Dropped(frame, Stage::kEncode);
  }
  ledger.Dropped(5, Stage::kWrite);
  ledger.Dropped(8, Stage::kWrite);
  const auto runs = ledger.drop_runs("Recording");
  ASSERT_EQ(runs.size(), 3U);
  EXPECT_EQ(runs[0].frames, 3);
  EXPECT_DOUBLE_EQ(runs[0].at_s, 0.08);
  EXPECT_EQ(runs[0].stage, bench::Stage::kEncode);
  EXPECT_EQ(runs[1].stage, bench::Stage::kWrite);
  EXPECT_EQ(runs[2].frames, 1);
}

TEST(Ledger, KeepsABoundedNumberOfRunsAndCountsTheRest) {
  Ledger ledger(60);
  for (std::int64_t frame = 0; frame < 10'000; ++frame) {
    ledger.Due(frame);
    frame % 2 == 0 ? ledger.Dropped(frame, Stage::kEncode) : ledger.Delivered(frame, 0, 0);
  }
  EXPECT_EQ(ledger.drop_runs("x").size(), Ledger::kMostRuns);
  EXPECT_EQ(ledger.drop_runs_left_out(), 5000 - static_cast<std::int64_t>(Ledger::kMostRuns));
}

TEST(Ledger, WithdrawnFramesAreNotDue) {
  Ledger ledger(25);
  ledger.Due(0);
  ledger.Due(1);
  ledger.Delivered(0, 0, 0);
  ledger.Withdraw();
  EXPECT_EQ(ledger.totals().due, 1);
  EXPECT_EQ(ledger.totals().withdrawn, 1);
  EXPECT_EQ(ledger.windows()[0], (LedgerWindow{1, 1, 0, 0}));
}

TEST(Ledger, FramesLostInsideAStageAreDropped) {
  Ledger ledger(25);
  ledger.Due(0);
  ledger.LoseInFlight(Stage::kEncode);
  EXPECT_EQ(ledger.totals().dropped, 1);
  EXPECT_EQ(ledger.drop_runs("x")[0].stage, bench::Stage::kEncode);
}

TEST(Ledger, HistogramHoldsEveryDeliveredFrame) {
  Ledger ledger(25);
  for (std::int64_t frame = 0; frame < 100; ++frame) {
    ledger.Due(frame);
    ledger.Delivered(frame, frame * 1'000'000, 0);
  }
  std::int64_t frames = 0;
  double up_to_ms = -1;
  for (const auto& bucket : ledger.lateness().histogram) {
    EXPECT_GT(bucket.up_to_ms, up_to_ms);
    up_to_ms = bucket.up_to_ms;
    frames += bucket.frames;
  }
  EXPECT_EQ(frames, 100);
  EXPECT_NEAR(ledger.lateness().p50_ms, 49, 49.0 / 64);
  EXPECT_DOUBLE_EQ(ledger.lateness().max_ms, 99);
}

}  // namespace
}  // namespace bench
