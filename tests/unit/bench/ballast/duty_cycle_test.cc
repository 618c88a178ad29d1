// SPDX-License-Identifier: Apache-2.0

#include "bench/ballast/duty_cycle.h"

#include <algorithm>

#include <gtest/gtest.h>

namespace bench {
namespace {

constexpr std::int64_t kMs = 1'000'000;
constexpr std::int64_t kSecond = 1000 * kMs;

/// Units begun from 0 until `until_ns` by a thread whose every unit takes `work_ns`.
std::int64_t UnitsDone(DutyCycle cycle, std::int64_t work_ns, std::int64_t until_ns) {
  std::int64_t now_ns = 0;
  std::int64_t units = 0;
  for (;;) {
    now_ns = std::max(now_ns, cycle.NextDueNs());
    if (now_ns >= until_ns) {
      return units;
    }
    cycle.Begin(now_ns);
    now_ns += work_ns;
    ++units;
  }
}

DutyCycle Every(std::int64_t period_ns) {
  DutyCycle cycle;
  cycle.SetPeriod(period_ns, 0);
  return cycle;
}

TEST(DutyCycle, KeepsTheAskedRateHoweverLongAUnitTakes) {
  for (const std::int64_t work_ns : {0 * kMs, 1 * kMs, 3 * kMs, 4 * kMs}) {
    EXPECT_EQ(UnitsDone(Every(4 * kMs), work_ns, 10 * kSecond), 2500);
  }
}

TEST(DutyCycle, RunsWithoutPauseWhereMoreIsAskedThanFits) {
  EXPECT_EQ(UnitsDone(Every(4 * kMs), 5 * kMs, 10 * kSecond), 2000);
}

TEST(DutyCycle, RestsOnlyWhereItCannotKeepItsPace) {
  DutyCycle cycle = Every(4 * kMs);
  cycle.Begin(0);
  EXPECT_EQ(cycle.RestNs(3 * kMs, 3 * kMs), 0);
  EXPECT_EQ(cycle.RestNs(5 * kMs, 5 * kMs), kMs / 2);
  EXPECT_EQ(cycle.RestNs(kMs / 100, 5 * kMs), kMs / 10);
  EXPECT_EQ(DutyCycle().RestNs(kMs, kMs), 0);
}

TEST(DutyCycle, MakesUpForAShortDelay) {
  DutyCycle cycle = Every(4 * kMs);
  cycle.Begin(0);
  cycle.Begin(50 * kMs);  // woken late
  EXPECT_EQ(cycle.NextDueNs(), 8 * kMs);
}

TEST(DutyCycle, ForgoesWhatALongStallCost) {
  DutyCycle cycle = Every(4 * kMs);
  cycle.Begin(0);
  cycle.Begin(2 * kSecond);
  EXPECT_EQ(cycle.NextDueNs(), 2 * kSecond - DutyCycle::kMostBehindNs);
}

TEST(DutyCycle, ANewPeriodOwesNothingOfTheOld) {
  DutyCycle cycle = Every(1);
  cycle.Begin(0);
  cycle.SetPeriod(4 * kMs, kSecond);
  EXPECT_EQ(cycle.NextDueNs(), kSecond);
  cycle.SetPeriod(0, kSecond);
  EXPECT_TRUE(cycle.idle());
}

TEST(PeriodNs, SharesTheLevelAmongTheThreads) {
  // 1.5 CPUs by 2 threads with pictures of 3 ms: 250 frames a second each.
  EXPECT_EQ(PeriodNs(1.5, 0.003, 2), 4 * kMs);
  // 64 MiB/s by one thread in blocks of 256 KiB: 256 a second.
  EXPECT_EQ(PeriodNs(64.0 * (1 << 20), 256.0 * (1 << 10), 1), 3906250);
}

TEST(PeriodNs, IsNoneForNoLoad) {
  EXPECT_EQ(PeriodNs(0, 0.003, 2), 0);
  EXPECT_EQ(PeriodNs(-1, 0.003, 2), 0);
  EXPECT_EQ(PeriodNs(1, 0, 2), 0);
}

TEST(PeriodNs, StaysWithinWhatAClockCanTell) {
  EXPECT_GT(PeriodNs(1e-300, 1, 1), 0);
  EXPECT_EQ(PeriodNs(1e300, 1, 1), 1);
}

}  // namespace
}  // namespace bench
