// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_pictures.h"

#include <cmath>
#include <cstdint>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using probes::LineGap;
using probes::LinePictures;
using probes::LostBetween;
using probes::PictureRule;
using probes::PictureStamp;
using probes::SumPictures;
using testing::DoubleNear;
using testing::SizeIs;

constexpr std::int64_t kMs = 1'000'000;
constexpr std::int64_t kPeriod = 40 * kMs;  // 25 frames a second
constexpr std::int64_t kLag = 2 * kMs;      // from timestamp to arrival

PictureRule Rule() {
  PictureRule rule;
  rule.asked_per_second = 25;
  rule.buffers = 4;
  rule.start_seconds = 1;
  return rule;
}

/// `count` pictures with no fault, numbered from `first`.
std::vector<PictureStamp> Steady(int count, std::uint32_t first = 0) {
  std::vector<PictureStamp> pictures;
  for (int i = 0; i < count; ++i) {
    const std::int64_t at = 1'000'000'000 + i * kPeriod;
    pictures.push_back({first + static_cast<std::uint32_t>(i), at, at + kLag, 1000, false});
  }
  return pictures;
}

void Erase(std::vector<PictureStamp>& pictures, std::size_t from, std::size_t count) {
  const auto begin = pictures.begin() + static_cast<std::ptrdiff_t>(from);
  pictures.erase(begin, begin + static_cast<std::ptrdiff_t>(count));
}

/// A picture that never got a number: those after it count on without a step.
void EraseWithoutNumber(std::vector<PictureStamp>& pictures, std::size_t at) {
  Erase(pictures, at, 1);
  for (std::size_t i = at; i < pictures.size(); ++i) {
    --pictures[i].number;
  }
}

TEST(LostBetween, CountsStepsAboveOne) {
  EXPECT_EQ(LostBetween(4, 5), 0);
  EXPECT_EQ(LostBetween(4, 8), 3);
}

TEST(LostBetween, WrapsAfterThirtyTwoBits) {
  EXPECT_EQ(LostBetween(0xffffffffU, 0), 0);
  EXPECT_EQ(LostBetween(0xfffffffeU, 1), 2);
}

TEST(LostBetween, SaysNothingOfNumbersThatRepeatOrGoBack) {
  EXPECT_EQ(LostBetween(7, 7), std::nullopt);
  EXPECT_EQ(LostBetween(7, 6), std::nullopt);
  EXPECT_EQ(LostBetween(100000, 0), std::nullopt);
}

TEST(SumPictures, NothingLostWhereNothingIs) {
  const LinePictures sums = SumPictures(Steady(251), Rule());
  EXPECT_EQ(sums.delivered, 251);
  EXPECT_EQ(sums.lost + sums.lost_at_start + sums.missing_by_time, 0);
  EXPECT_EQ(sums.timestamp_jumps + sums.number_faults, 0);
  EXPECT_TRUE(sums.numbered);
  EXPECT_DOUBLE_EQ(sums.seconds, 10);
  ASSERT_TRUE(sums.delivered_rate);
  EXPECT_DOUBLE_EQ(sums.delivered_rate->per_second, 25);
  ASSERT_TRUE(sums.jitter);
  EXPECT_DOUBLE_EQ(sums.jitter->longest_ms, 0);
  EXPECT_DOUBLE_EQ(sums.jitter->mean_interval_ms, 40);
}

TEST(SumPictures, NoPicturesAreNoAccount) {
  const LinePictures sums = SumPictures({}, Rule());
  EXPECT_EQ(sums.delivered, 0);
  EXPECT_FALSE(sums.delivered_rate);
  EXPECT_FALSE(sums.jitter);
}

TEST(SumPictures, OnePictureHasNoRate) {
  const LinePictures sums = SumPictures(Steady(1), Rule());
  EXPECT_EQ(sums.delivered, 1);
  EXPECT_FALSE(sums.device_rate);
}

TEST(SumPictures, GapInTheNumbersIsLostPictures) {
  std::vector<PictureStamp> pictures = Steady(251);
  Erase(pictures, 100, 3);
  Erase(pictures, 150, 1);
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.lost, 4);
  EXPECT_EQ(sums.lost_unserved, 0);
  EXPECT_EQ(sums.missing_by_time, 0);
  ASSERT_THAT(sums.gaps, SizeIs(2));
  EXPECT_EQ(sums.gaps[0].lost, 3);
  EXPECT_DOUBLE_EQ(sums.gaps[0].at_s, 103 * 0.04);
  // The device made 25 a second all the same; four fewer arrived in the nine seconds judged.
  EXPECT_DOUBLE_EQ(sums.device_rate->per_second, 25);
  EXPECT_DOUBLE_EQ(sums.delivered_rate->per_second, 25 * 221.0 / 225.0);
}

TEST(SumPictures, LossAcrossTheWrapOfNumbers) {
  std::vector<PictureStamp> pictures = Steady(251, 0xffffff80U);
  Erase(pictures, 127, 2);
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.lost, 2);
  EXPECT_EQ(sums.number_faults, 0);
}

TEST(SumPictures, LossesAtTheStartCountApart) {
  std::vector<PictureStamp> pictures = Steady(251);
  Erase(pictures, 5, 4);
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.lost_at_start, 4);
  EXPECT_EQ(sums.lost, 0);
}

TEST(SumPictures, LossWhileWeHeldAllBuffersIsOurs) {
  // We slept a second: four buffers were full, then 21 pictures found none.
  std::vector<PictureStamp> pictures = Steady(251);
  Erase(pictures, 104, 21);
  for (std::size_t i = 100; i < 104; ++i) {
    pictures[i].arrived_ns = pictures[99].arrived_ns + 1'000 * kMs + static_cast<std::int64_t>(i);
  }
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.lost, 21);
  EXPECT_EQ(sums.lost_unserved, 21);
  EXPECT_EQ(sums.timestamp_jumps, 0) << "late arrivals are no jump of the timestamps";
}

TEST(SumPictures, HoleInTimeWithoutAStepOfNumbersNeverReachedTheDriver) {
  std::vector<PictureStamp> pictures = Steady(251);
  EraseWithoutNumber(pictures, 100);
  EraseWithoutNumber(pictures, 180);
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.lost, 0);
  EXPECT_EQ(sums.missing_by_time, 2);
}

TEST(SumPictures, PictureThatIsLateIsNoHole) {
  std::vector<PictureStamp> pictures = Steady(251);
  pictures[100].timestamp_ns += 30 * kMs;
  pictures[100].arrived_ns += 30 * kMs;
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.missing_by_time, 0);
  // 225 intervals are judged; one is 30 ms long, the next 30 ms short.
  EXPECT_THAT(sums.jitter->longest_ms, DoubleNear(30, 1e-9));
  EXPECT_THAT(sums.jitter->longest_interval_ms, DoubleNear(70, 1e-9));
  EXPECT_THAT(sums.jitter->shortest_interval_ms, DoubleNear(10, 1e-9));
}

TEST(SumPictures, CameraThatHalvesItsRateIsSlowAndHasNoHoles) {
  std::vector<PictureStamp> pictures = Steady(251);
  for (std::size_t i = 1; i < pictures.size(); ++i) {
    pictures[i].timestamp_ns =
        pictures[0].timestamp_ns + static_cast<std::int64_t>(i) * 2 * kPeriod;
    pictures[i].arrived_ns = pictures[i].timestamp_ns + kLag;
  }
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.missing_by_time, 0);
  EXPECT_DOUBLE_EQ(sums.device_rate->per_second, 12.5);
}

TEST(SumPictures, TimestampsThatGoBackAreTold) {
  std::vector<PictureStamp> pictures = Steady(251);
  for (std::size_t i = 120; i < pictures.size(); ++i) {
    pictures[i].timestamp_ns -= 5'000 * kMs;
  }
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.timestamp_jumps, 1);
  EXPECT_EQ(sums.lost, 0);
  EXPECT_FALSE(sums.jitter) << "nothing to be had from such timestamps";
  EXPECT_DOUBLE_EQ(sums.delivered_rate->per_second, 25) << "by the times of arrival";
}

TEST(SumPictures, TimestampsThatJumpAheadAreTold) {
  std::vector<PictureStamp> pictures = Steady(251);
  for (std::size_t i = 120; i < pictures.size(); ++i) {
    pictures[i].timestamp_ns += 3'600'000 * kMs;
  }
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.timestamp_jumps, 1);
  EXPECT_EQ(sums.missing_by_time, 0);
}

TEST(SumPictures, DriverThatDoesNotNumberLosesNothingByNumber) {
  std::vector<PictureStamp> pictures = Steady(251);
  EraseWithoutNumber(pictures, 100);
  for (PictureStamp& picture : pictures) {
    picture.number = 0;
  }
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_FALSE(sums.numbered);
  EXPECT_EQ(sums.number_faults, 0);
  EXPECT_EQ(sums.missing_by_time, 1);
  EXPECT_FALSE(sums.device_rate);
}

TEST(SumPictures, NumberThatIsSetToZeroIsAFaultAndNoLoss) {
  std::vector<PictureStamp> pictures = Steady(251, 5000);
  for (std::size_t i = 100; i < pictures.size(); ++i) {
    pictures[i].number -= 5100;
  }
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.number_faults, 1);
  EXPECT_EQ(sums.lost, 0);
}

TEST(SumPictures, StepThatNoTimeAllowsIsAFaultAndNoLoss) {
  std::vector<PictureStamp> pictures = Steady(251);
  for (std::size_t i = 100; i < pictures.size(); ++i) {
    pictures[i].number += 1'000'000;
  }
  const LinePictures sums = SumPictures(pictures, Rule());
  EXPECT_EQ(sums.number_faults, 1);
  EXPECT_EQ(sums.lost, 0);
}

TEST(SumPictures, FlaggedAndShortPicturesAreToldApart) {
  std::vector<PictureStamp> pictures = Steady(251);
  pictures[10].flagged = true;
  pictures[10].bytes = 0;
  pictures[20].bytes = 999;
  PictureRule rule = Rule();
  rule.least_bytes = 1000;
  const LinePictures sums = SumPictures(pictures, rule);
  EXPECT_EQ(sums.flagged, 1);
  EXPECT_EQ(sums.short_pictures, 1);
}

TEST(SumPictures, ManyGapsAreCountedAndTheFirstAreKept) {
  std::vector<PictureStamp> kept;
  for (const PictureStamp& picture : Steady(2000)) {
    if (picture.number % 4 != 3) {
      kept.push_back(picture);
    }
  }
  const LinePictures sums = SumPictures(kept, Rule());
  EXPECT_EQ(sums.lost + sums.lost_at_start, 499);
  EXPECT_THAT(sums.gaps, SizeIs(100));
}

}  // namespace
