// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/judge.h"

#include <algorithm>
#include <cstddef>
#include <vector>

#include <gtest/gtest.h>

namespace {

std::vector<double> Ripple(double level, int count) {
  std::vector<double> rates(static_cast<std::size_t>(count));
  for (std::size_t i = 0; i < rates.size(); ++i) {
    rates[i] = level * (0.99 + 0.01 * static_cast<double>(i % 3));
  }
  return rates;
}

std::vector<double> Joined(std::vector<double> first, const std::vector<double>& second) {
  first.insert(first.end(), second.begin(), second.end());
  return first;
}

TEST(JudgeDiskWindows, TakesTheMeanOfASteadyDisk) {
  const auto rate = bench::JudgeDiskWindows(Ripple(200e6, 30), 0.25);
  EXPECT_TRUE(rate.steady);
  EXPECT_NEAR(rate.bytes_per_second, 200e6, 1e6);
  EXPECT_FALSE(rate.step_at_s);
  EXPECT_EQ(rate.from, "mean of the steady window of 5 rounds of 0.25 s");
}

TEST(JudgeDiskWindows, CountsOnlyWhatFollowsTheEndOfAWriteCache) {
  const auto rate = bench::JudgeDiskWindows(Joined(Ripple(2000e6, 20), Ripple(400e6, 12)), 0.25);
  EXPECT_TRUE(rate.steady);
  EXPECT_NEAR(rate.bytes_per_second, 400e6, 4e6);
  ASSERT_TRUE(rate.step_at_s);
  EXPECT_DOUBLE_EQ(*rate.step_at_s, 5);
  EXPECT_NEAR(*rate.step_ratio, 0.2, 1e-3);
}

TEST(JudgeDiskWindows, TakesALowPercentileOfARestlessDisk) {
  std::vector<double> rates(32, 200e6);
  for (std::size_t i = 0; i < rates.size(); i += 8) {
    std::fill_n(rates.begin() + static_cast<std::ptrdiff_t>(i), 4, 50e6);  // every other second
  }
  const auto rate = bench::JudgeDiskWindows(rates, 0.25);
  EXPECT_FALSE(rate.steady);
  EXPECT_EQ(rate.bytes_per_second, 50e6);
  EXPECT_EQ(rate.from, "10th percentile of 8 rounds of 1 s, as no 5 were steady");
}

TEST(JudgeDiskWindows, SeesThroughBurstsShorterThanARecordersQueue) {
  std::vector<double> rates(32, 360e6);  // as seen through a limit of 300 MB/s served in bursts
  for (std::size_t i = 1; i < rates.size(); i += 2) {
    rates[i] = 240e6;
  }
  const auto rate = bench::JudgeDiskWindows(rates, 0.25);
  EXPECT_TRUE(rate.steady);
  EXPECT_NEAR(rate.bytes_per_second, 300e6, 1);
  EXPECT_EQ(rate.from, "mean of the steady window of 5 rounds of 0.5 s");
}

TEST(JudgeDiskWindows, TellsNoStepTooSmallToMatter) {
  const auto rate = bench::JudgeDiskWindows(Joined(Ripple(200e6, 20), Ripple(190e6, 20)), 0.25);
  EXPECT_FALSE(rate.step_at_s);
}

TEST(JudgeDiskWindows, TellsTheLargestStepDown) {
  const auto rate = bench::JudgeDiskWindows(
      Joined(Joined(Ripple(100e6, 20), Ripple(300e6, 20)), Ripple(150e6, 20)), 0.5);
  ASSERT_TRUE(rate.step_at_s);
  EXPECT_DOUBLE_EQ(*rate.step_at_s, 20);
  EXPECT_NEAR(*rate.step_ratio, 0.5, 1e-2);
  EXPECT_NEAR(rate.bytes_per_second, 150e6, 2e6);
}

TEST(JudgeDiskWindows, HasNothingToSayAboutNothing) {
  const auto rate = bench::JudgeDiskWindows({}, 0.25);
  EXPECT_FALSE(rate.steady);
  EXPECT_EQ(rate.bytes_per_second, 0);
}

}  // namespace
