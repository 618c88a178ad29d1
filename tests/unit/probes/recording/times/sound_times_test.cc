// SPDX-License-Identifier: Apache-2.0
//
// Sound counted by its timestamps, and the lines through clocks.

#include "probes/recording/times/sound_times.h"

#include <cmath>
#include <random>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/recording/times/clock_line.h"

namespace probes {
namespace {

using testing::SizeIs;

constexpr std::int64_t kBlock = 1024;  // samples of an AAC block (ISO/IEC 14496-3)
constexpr int kRate = 48'000;

SoundRun Block(std::int64_t at) {
  SoundRun run;
  run.first = {at, at, 300, false};
  run.carried_s = static_cast<double>(kBlock) / kRate;
  return run;
}

TEST(SoundTimes, FindsHolesOfOneBlockAndMore) {
  SoundTimes sound(base::Rational(1, kRate), kRate, 0);
  for (std::int64_t i = 0; i < 2000; ++i) {
    if (i != 500 && (i < 900 || i >= 910)) {
      sound.Add(Block(i * kBlock));
    }
  }
  const auto times = sound.Finish(0);
  EXPECT_EQ(times.present, 1989);
  ASSERT_THAT(times.gaps, SizeIs(2));
  EXPECT_NEAR(times.gaps[0].at_s, 500.0 * kBlock / kRate, 1e-9);
  EXPECT_NEAR(times.gaps[0].length_s, 1.0 * kBlock / kRate, 1e-9);
  EXPECT_NEAR(times.gaps[1].length_s, 10.0 * kBlock / kRate, 1e-9);
  EXPECT_NEAR(times.gap_seconds, 11.0 * kBlock / kRate, 1e-9);
}

TEST(SoundTimes, MillisecondsMakeNoHoles) {
  SoundTimes sound(base::Rational(1, 1000), kRate, 0);
  for (std::int64_t i = 0; i < 20'000; ++i) {
    sound.Add(Block(std::llround(static_cast<double>(i * kBlock) * 1000 / kRate)));
  }
  const auto times = sound.Finish(0);
  EXPECT_EQ(times.gap_count, 0);
  EXPECT_EQ(times.repeated, 0);
  ASSERT_TRUE(times.clock);
  EXPECT_NEAR(times.clock->ppm, 0, 0.5);
  EXPECT_LE(times.clock->low_ppm, 0);
  EXPECT_GE(times.clock->high_ppm, 0);
}

TEST(SoundTimes, APacketThatIsStampedLateLeavesNoHole) {
  SoundTimes sound(base::Rational(1, 1000), kRate, 0);
  for (std::int64_t i = 0; i < 1000; ++i) {
    const std::int64_t late = i == 500 ? 40 : 0;
    sound.Add(Block(std::llround(static_cast<double>(i * kBlock) * 1000 / kRate) + late));
  }
  EXPECT_EQ(sound.Finish(0).gap_count, 0);
}

TEST(SoundTimes, StampsOfAnotherClockAreASlope) {
  SoundTimes sound(base::Rational(1, 1'000'000), kRate, 0);
  for (std::int64_t i = 0; i < 50'000; ++i) {
    sound.Add(Block(std::llround(static_cast<double>(i * kBlock) * 1e6 / kRate * (1 + 100e-6))));
  }
  const auto times = sound.Finish(0);
  ASSERT_TRUE(times.clock);
  EXPECT_NEAR(times.clock->ppm, -100, 0.1);  // stamps pass faster than samples
  EXPECT_EQ(times.gap_count, 0);
}

TEST(SoundTimes, ARunIsTheSameAsItsPackets) {
  SoundTimes one(base::Rational(1, kRate), kRate, 0);
  SoundTimes all(base::Rational(1, kRate), kRate, 0);
  for (std::int64_t i = 0; i < 5000; ++i) {
    one.Add(Block(i * kBlock));
  }
  SoundRun run = Block(0);
  run.packets = 5000;
  run.step_s = run.carried_s;
  all.Add(run);
  const auto left = one.Finish(0);
  const auto right = all.Finish(0);
  EXPECT_EQ(left.present, right.present);
  EXPECT_NEAR(left.end_s, right.end_s, 1e-6);
  EXPECT_EQ(right.gap_count, 0);
  ASSERT_TRUE(right.clock);
  EXPECT_NEAR(right.clock->ppm, 0, 1e-3);
}

TEST(SoundTimes, LeadInIsNoSound) {
  SoundTimes sound(base::Rational(1, kRate), kRate, 1024.0 / kRate);
  for (std::int64_t i = -1; i < 100; ++i) {
    sound.Add(Block(i * kBlock));
  }
  EXPECT_NEAR(*sound.first_s(), 0, 1e-12);
}

TEST(SoundTimes, WithoutSampleCountsThereIsNoClock) {
  SoundTimes sound(base::Rational(1, 1000), 0, 0);
  for (std::int64_t i = 0; i < 2000; ++i) {
    SoundRun run = Block(20 * i);
    run.carried_s = 0.02;
    run.counted = false;
    sound.Add(run);
  }
  EXPECT_FALSE(sound.Finish(0).clock);
}

TEST(SoundTimes, ExtremeTimesAreTakenCalmly) {
  SoundTimes sound(base::Rational(INT64_MAX, 1), kRate, 1e300);
  for (const std::int64_t at : {INT64_MAX, INT64_MIN, kMostTicks, -kMostTicks, std::int64_t{0},
                                std::int64_t{1}, kMostTicks}) {
    SoundRun run = Block(at);
    sound.Add(run);
    run.packets = 3;
    run.step_s = 1e200;
    sound.Add(run);
  }
  EXPECT_EQ(sound.Finish(0).present, 28);
}

/// y = slope x + AR(1) noise.
std::vector<LinePoint> NoisyLine(double slope, double correlation, std::mt19937& dice) {
  std::normal_distribution<double> normal(0, 1e-3);
  std::vector<LinePoint> points;
  double noise = 0;
  for (int i = 0; i < 120; ++i) {
    noise = correlation * noise + normal(dice);
    points.push_back({30.0 * i, slope * 30.0 * i + noise});
  }
  return points;
}

// The interval's promise, held against many made lines: at least 9 in 10 hold the true slope.
class Coverage : public testing::TestWithParam<double> {};
TEST_P(Coverage, HoldsTheTrueSlope) {
  std::mt19937 dice(5);
  int held = 0;
  constexpr int kLines = 60;
  for (int line = 0; line < kLines; ++line) {
    const auto slope = RobustSlope(NoisyLine(20e-6, GetParam(), dice));
    ASSERT_TRUE(slope);
    held += slope->low_ppm <= 20 && slope->high_ppm >= 20 ? 1 : 0;
  }
  EXPECT_GE(held, kLines * 9 / 10);
}
INSTANTIATE_TEST_SUITE_P(Correlations, Coverage, testing::Values(0.0, 0.5, 0.9));

TEST(RobustSlope, OutliersDoNotTurnIt) {
  std::mt19937 dice(5);
  auto points = NoisyLine(50e-6, 0, dice);
  for (std::size_t i = 90; i < 110; ++i) {
    points[i].y += 5;
  }
  const auto slope = RobustSlope(points);
  ASSERT_TRUE(slope);
  EXPECT_NEAR(slope->ppm, 50, 3);
}

TEST(RobustSlope, TooFewPointsAreNoLine) {
  EXPECT_FALSE(RobustSlope(std::vector<LinePoint>(7)));
  EXPECT_FALSE(RobustSlope(std::vector<LinePoint>(20)));  // all at one place
}

TEST(ClockLine, LongRecordingsKeepTheirSlope) {
  ClockLine line;
  for (int i = 0; i < 360'000; ++i) {
    line.Add(i / 10.0, 30e-6 * i / 10.0);
  }
  const auto slope = line.Slope(1e-3);
  ASSERT_TRUE(slope);
  EXPECT_NEAR(slope->ppm, 30, 1e-6);
  EXPECT_GT(slope->high_ppm - slope->low_ppm, 0.05);  // never better than a tick over the length
  EXPECT_NEAR(slope->seconds, 36'000, 300);
}

TEST(SoundEarly, IsSoundThatCarriesLessThanItsStampsTell) {
  const auto early = SoundEarly({-100, -103, -97, 50});
  EXPECT_DOUBLE_EQ(early.ppm, 100);
  EXPECT_DOUBLE_EQ(early.low_ppm, 97);
  EXPECT_DOUBLE_EQ(early.high_ppm, 103);
  EXPECT_DOUBLE_EQ(early.seconds, 50);
}

}  // namespace
}  // namespace probes
