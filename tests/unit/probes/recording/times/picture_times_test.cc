// SPDX-License-Identifier: Apache-2.0
//
// Pictures counted by their timestamps: made tracks with losses at known places.

#include "probes/recording/times/picture_times.h"

#include <cmath>
#include <cstdint>
#include <random>
#include <set>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace probes {
namespace {

using testing::SizeIs;

/// Times of pictures 0 to `count` - 1 at `rate`, rounded to ticks, those in `lost` left out.
std::vector<std::int64_t> Stamps(base::Rational rate, std::int64_t ticks_per_second,
                                 std::int64_t count, const std::set<std::int64_t>& lost = {}) {
  std::vector<std::int64_t> stamps;
  for (std::int64_t i = 0; i < count; ++i) {
    if (!lost.contains(i)) {
      stamps.push_back(std::llround(static_cast<double>(i) * static_cast<double>(ticks_per_second) /
                                    base::ToDouble(rate)));
    }
  }
  return stamps;
}

TrackTimes Counted(const std::vector<std::int64_t>& stamps, std::int64_t ticks_per_second,
                   std::optional<base::Rational> stated = {}) {
  PictureTimes pictures(base::Rational(1, ticks_per_second), stated);
  for (const std::int64_t stamp : stamps) {
    pictures.Add({stamp, stamp, 100, false});
  }
  return pictures.Finish(0);
}

void ExpectBalance(const TrackTimes& times) {
  EXPECT_EQ(times.due,
            times.present - times.repeated - times.out_of_order - times.untimed + times.missing);
}

TEST(PictureTimes, CountsLossesAtTheirPlaces) {
  const auto times =
      Counted(Stamps(base::Rational(25), 90'000, 3000, {100, 200, 201, 202, 2500}), 90'000);
  EXPECT_EQ(times.beat, Beat::kConstant);
  EXPECT_EQ(times.rate_numerator, 25);
  EXPECT_EQ(times.due, 3000);
  EXPECT_EQ(times.present, 2995);
  EXPECT_EQ(times.missing, 5);
  ASSERT_THAT(times.gaps, SizeIs(3));
  EXPECT_NEAR(times.gaps[0].at_s, 4.0, 1e-9);
  EXPECT_NEAR(times.gaps[1].at_s, 8.0, 1e-9);
  EXPECT_NEAR(times.gaps[1].length_s, 0.12, 1e-9);
  EXPECT_EQ(times.gaps[1].missing, 3);
  EXPECT_NEAR(times.gaps[2].at_s, 100.0, 1e-9);
  ExpectBalance(times);
}

// ISO/IEC 14496 rates in Matroska's milliseconds (RFC 9559: TimestampScale 1,000,000 ns by
// default).
class RoundedRate : public testing::TestWithParam<base::Rational> {};
TEST_P(RoundedRate, MillisecondsMakeNoGaps) {
  const auto times = Counted(Stamps(GetParam(), 1000, 20'000), 1000);
  EXPECT_EQ(times.beat, Beat::kConstant);
  EXPECT_EQ(times.rate_numerator, GetParam().numerator());
  EXPECT_EQ(times.rate_denominator, GetParam().denominator());
  EXPECT_EQ(times.due, 20'000);
  EXPECT_EQ(times.missing, 0);
  EXPECT_EQ(times.repeated, 0);
  EXPECT_LE(times.jitter.most_ms, 1.0);  // rounding to the nearest tick, on both ends
}
INSTANTIATE_TEST_SUITE_P(Rates, RoundedRate,
                         testing::Values(base::Rational(24000, 1001), base::Rational(24),
                                         base::Rational(25), base::Rational(30000, 1001),
                                         base::Rational(30), base::Rational(50),
                                         base::Rational(60000, 1001), base::Rational(60),
                                         base::Rational(120000, 1001), base::Rational(120)));

TEST(PictureTimes, RandomLossesAreFoundOneByOne) {
  for (const double share : {0.01, 0.2, 0.6}) {
    std::mt19937 dice(7);
    std::set<std::int64_t> lost;
    for (std::int64_t i = 1; i < 9999; ++i) {
      if (std::uniform_real_distribution<double>()(dice) < share) {
        lost.insert(i);
      }
    }
    const auto times = Counted(Stamps(base::Rational(60000, 1001), 1000, 10'000, lost), 1000,
                               base::Rational(60000, 1001));
    EXPECT_EQ(times.missing, static_cast<std::int64_t>(lost.size())) << share;
    EXPECT_EQ(times.due, 10'000) << share;
    ExpectBalance(times);
  }
}

// FFmpeg's writer of fragments stretches a track's first picture back to zero where sound begins
// before it.
TEST(PictureTimes, AFirstPictureOffTheBeatIsNoLoss) {
  auto stamps = Stamps(base::Rational(25), 48'000, 500);
  for (std::size_t i = 1; i < stamps.size(); ++i) {
    stamps[i] += 1024;
  }
  const auto times = Counted(stamps, 48'000);
  EXPECT_EQ(times.due, 500);
  EXPECT_EQ(times.missing, 0);
  EXPECT_EQ(times.rate_numerator, 25);
  // A step of two whole periods is one.
  EXPECT_EQ(Counted(Stamps(base::Rational(25), 48'000, 500, {1}), 48'000).missing, 1);
}

TEST(PictureTimes, JitterIsNoLoss) {
  std::mt19937 dice(11);
  std::uniform_real_distribution<double> off(-0.3, 0.3);  // of a period
  std::vector<std::int64_t> stamps(20'000);
  for (std::size_t i = 0; i < stamps.size(); ++i) {
    stamps[i] = std::llround((static_cast<double>(i) + off(dice)) * 40'000);
  }
  const auto times = Counted(stamps, 1'000'000);
  EXPECT_EQ(times.missing, 0);
  EXPECT_EQ(times.repeated, 0);
  EXPECT_EQ(times.due, 20'000);
  EXPECT_GT(times.jitter.p99_ms, 5);
  EXPECT_LT(times.jitter.p99_ms, 20);
}

TEST(PictureTimes, PicturesInDecodingOrderAreSorted) {
  // I P B B: shown 0 3 1 2, decoded one period earlier each.
  PictureTimes pictures(base::Rational(1, 25), base::Rational(25));
  std::int64_t decoded = -2;
  for (std::int64_t group = 0; group < 500; ++group) {
    for (const std::int64_t shown : {3, 1, 2}) {
      pictures.Add({3 * group + shown, decoded++, 100, false});
    }
  }
  const auto times = pictures.Finish(0);
  EXPECT_EQ(times.due, 1500);
  EXPECT_EQ(times.missing, 0);
  EXPECT_EQ(times.out_of_order, 0);
}

/// Groups I P B B by presentation time alone, in decoding order, as Matroska stores them.
std::vector<std::int64_t> ShownOnly(std::int64_t groups, std::int64_t hole_at,
                                    std::int64_t hole_ms) {
  std::vector<std::int64_t> stamps;
  for (std::int64_t group = 0; group < groups; ++group) {
    for (const std::int64_t within : {3, 1, 2}) {
      const std::int64_t number = 3 * group + within;
      stamps.push_back(40 * number + (number >= hole_at ? hole_ms : 0));
    }
  }
  return stamps;
}

TrackTimes CountedShown(const std::vector<std::int64_t>& stamps) {
  PictureTimes pictures(base::Rational(1, 1000), base::Rational(25));
  for (const std::int64_t stamp : stamps) {
    pictures.Add({stamp, std::nullopt, 100, false});
  }
  return pictures.Finish(0);
}

// A hole in the middle of a group: its P is shown behind the hole and stored before the B pictures
// that are shown before the hole.
TEST(PictureTimes, BPicturesAroundAHoleAreCountedOnceWithoutDecodingTimes) {
  for (const std::int64_t missing : {1, 10, 50, 500, 10'000}) {
    for (const std::int64_t within : {0, 1, 2}) {
      const auto times = CountedShown(ShownOnly(400, 600 + within, 40 * missing));
      EXPECT_EQ(times.missing, missing);
      EXPECT_EQ(times.gap_count, 1) << missing;
      EXPECT_EQ(times.step_count, 0) << missing;
      EXPECT_EQ(times.out_of_order, 0) << missing;
      EXPECT_EQ(times.due, 1200 + missing);
      ExpectBalance(times);
    }
  }
}

TEST(PictureTimes, AClockThatWasSetIsFoundWithoutDecodingTimes) {
  for (const std::int64_t by : {std::int64_t{3'600'000}, std::int64_t{-20'000}}) {
    const auto times = CountedShown(ShownOnly(400, 601, by));
    EXPECT_EQ(times.step_count, 1) << by;
    EXPECT_EQ(times.missing, 0) << by;
    EXPECT_EQ(times.out_of_order, 0) << by;
    EXPECT_NEAR(times.end_s, 48.04, 0.2) << by;
    ExpectBalance(times);
  }
}

TEST(PictureTimes, OneWrongTimeWithoutDecodingTimesIsNoStep) {
  for (const std::int64_t wrong : {std::int64_t{-3'600'000}, std::int64_t{7'200'000}}) {
    auto stamps = ShownOnly(400, 10'000, 0);
    stamps[601] = wrong;
    const auto times = CountedShown(stamps);
    EXPECT_EQ(times.step_count, 0);
    EXPECT_EQ(times.out_of_order, 1);
    EXPECT_EQ(times.missing, 1);
    ExpectBalance(times);
  }
}

// 600 ppm away from 25 is another rate, however short the recording: four seconds in milliseconds.
TEST(PictureTimes, ARateBesideAStandardOneIsNotThatOne) {
  std::vector<std::int64_t> stamps;
  for (int i = 0; i < 100; ++i) {
    stamps.push_back(std::llround(i * 1000 / 25.015));
  }
  const auto times = Counted(stamps, 1000);
  EXPECT_NEAR(
      static_cast<double>(times.rate_numerator) / static_cast<double>(times.rate_denominator),
      25.015, 0.003);
  EXPECT_EQ(Counted(Stamps(base::Rational(25), 1000, 100), 1000).rate_denominator, 1);
}

TEST(PictureTimes, FewerPicturesThanTheFileStatesAreTold) {
  std::vector<std::int64_t> stamps;
  for (std::int64_t i = 0; i < 600; i += 2) {
    stamps.push_back(std::llround(static_cast<double>(i) * 1000 / 60));
  }
  const auto half = Counted(stamps, 1000, base::Rational(60));
  EXPECT_EQ(half.rate_numerator, 30);
  EXPECT_DOUBLE_EQ(half.stated_per_s, 60);
  EXPECT_DOUBLE_EQ(Counted(stamps, 1000, base::Rational(30)).stated_per_s, 0);
}

// A camera that halves its rate in the dark, and one whose pictures are lost one by one.
TEST(PictureTimes, LongRowsOfEqualStepsAreAnotherRate) {
  std::set<std::int64_t> halved;
  for (std::int64_t i = 501; i < 900; i += 2) {
    halved.insert(i);
  }
  const auto camera = Counted(Stamps(base::Rational(50), 90'000, 1500, halved), 90'000);
  EXPECT_EQ(camera.beat, Beat::kVariable);
  EXPECT_EQ(camera.missing_at_fastest, 200);
  std::set<std::int64_t> third;
  for (std::int64_t i = 502; i < 900; i += 3) {
    third.insert(i);
  }
  EXPECT_EQ(Counted(Stamps(base::Rational(50), 90'000, 1500, third), 90'000).missing,
            static_cast<std::int64_t>(third.size()));
}

// Hundredths of a second cannot tell 59.94 a second from lost pictures of 100 a second.
// Steps of 16 and 17 ms are 60 a second, not 58.8.
TEST(FastestStep, IsTheMeanOfWhatRoundingMadeDifferent) {
  std::vector<double> steps_s;
  for (int i = 0; i < 300; ++i) {
    steps_s.push_back(i % 3 == 0 ? 0.016 : 0.017);
    steps_s.push_back(0.1);
  }
  EXPECT_NEAR(1 / FastestStep(steps_s), 60, 0.01);
  EXPECT_DOUBLE_EQ(FastestStep({}), 0);
}

TEST(PictureTimes, AClockAsCoarseAsThePicturesTellsNothing) {
  const auto times = Counted(Stamps(base::Rational(60000, 1001), 100, 2000), 100);
  EXPECT_EQ(times.beat, Beat::kUnknown);
  EXPECT_EQ(times.missing, 0);
  EXPECT_EQ(Counted(Stamps(base::Rational(50), 100, 2000, {700}), 100).missing, 1);
}

TEST(PictureTimes, PicturesFasterThanTheClockTicksAreNotJudged) {
  EXPECT_EQ(Counted(Stamps(base::Rational(120'000, 1001), 100, 3000), 100).beat, Beat::kUnknown);
}

TEST(PictureTimes, ARateThatTheStreamStatesCountsToo) {
  PictureFacts facts;
  facts.codec_rate = base::Rational(60);
  PictureTimes pictures(base::Rational(1, 1000), std::nullopt, facts);
  for (const std::int64_t stamp : Stamps(base::Rational(30), 1000, 500)) {
    pictures.Add({stamp, stamp, 100, false});
  }
  EXPECT_DOUBLE_EQ(pictures.Finish(0).stated_per_s, 60);
}

TEST(PictureTimes, SwappedPicturesAreToldWhereTheCodecNeverReorders) {
  auto stamps = Stamps(base::Rational(25), 1000, 500);
  std::swap(stamps[100], stamps[101]);
  std::swap(stamps[300], stamps[301]);
  for (const bool reorders : {false, true}) {
    PictureFacts facts;
    facts.reorders = reorders;
    PictureTimes pictures(base::Rational(1, 1000), base::Rational(25), facts);
    for (const std::int64_t stamp : stamps) {
      pictures.Add({stamp, std::nullopt, 100, false});
    }
    const auto times = pictures.Finish(0);
    EXPECT_EQ(times.swapped, reorders ? 0 : 2);
    EXPECT_EQ(times.missing, 0);
    EXPECT_EQ(times.due, 500);
  }
}

TEST(PictureTimes, AVariableRateTellsWhatWouldBeMissing) {
  // A screen recorder: 60 a second at most, one to nine periods between pictures.
  std::mt19937 dice(5);
  std::uniform_int_distribution<std::int64_t> periods(1, 9);
  std::vector<std::int64_t> stamps = {0};
  std::int64_t at = 0;
  for (int i = 0; i < 3000; ++i) {
    at += periods(dice);
    stamps.push_back(at * 1500);
  }
  const auto times = Counted(stamps, 90'000);
  EXPECT_EQ(times.beat, Beat::kVariable);
  EXPECT_NEAR(times.fastest_per_s, 60, 1e-6);
  EXPECT_EQ(times.missing_at_fastest, at + 1 - times.present);
}

TEST(PictureTimes, VariableRateIsNotCalledBroken) {
  std::mt19937 dice(3);
  std::uniform_int_distribution<std::int64_t> step(5, 180);
  std::vector<std::int64_t> stamps = {0};
  for (int i = 0; i < 5000; ++i) {
    stamps.push_back(stamps.back() + step(dice));
  }
  const auto times = Counted(stamps, 1000);
  EXPECT_EQ(times.beat, Beat::kVariable);
  EXPECT_EQ(times.missing, 0);
  EXPECT_EQ(times.gap_count, 0);
  EXPECT_EQ(times.due, times.present);
}

TEST(PictureTimes, RateThatWandersSlowlyIsNoLoss) {
  std::vector<std::int64_t> stamps;
  double at = 0;
  for (int i = 0; i < 30'000; ++i) {
    stamps.push_back(std::llround(at * 90'000));
    at += 1 / (30 + 0.4 * std::sin(i / 900.0));  // 29.6 to 30.4 a second
  }
  const auto times = Counted(stamps, 90'000);
  EXPECT_EQ(times.missing, 0);
  EXPECT_EQ(times.repeated, 0);
}

TEST(PictureTimes, TheSameTimeTwiceIsARepeat) {
  auto stamps = Stamps(base::Rational(50), 1000, 1000);
  stamps.insert(stamps.begin() + 500, stamps[500]);
  const auto times = Counted(stamps, 1000);
  EXPECT_EQ(times.repeated, 1);
  EXPECT_EQ(times.missing, 0);
  ExpectBalance(times);
}

TEST(PictureTimes, MorePicturesThanAHoleTakesAreRepeats) {
  auto stamps = Stamps(base::Rational(50), 1000, 1000, {500});
  stamps.insert(stamps.begin() + 500, 2, stamps[500]);  // the missing one and one more
  const auto times = Counted(stamps, 1000);
  EXPECT_EQ(times.missing, 0);
  EXPECT_EQ(times.repeated, 1);
  ExpectBalance(times);
}

TEST(PictureTimes, OnePictureWithAWrongTimeIsOutOfOrder) {
  for (const std::int64_t wrong : {std::int64_t{-3'600'000}, std::int64_t{7'200'000}}) {
    auto stamps = Stamps(base::Rational(25), 1000, 1000);
    stamps[400] = wrong;
    const auto times = Counted(stamps, 1000);
    EXPECT_EQ(times.out_of_order, 1);
    EXPECT_EQ(times.step_count, 0);
    EXPECT_EQ(times.missing, 1);  // its place is empty
    EXPECT_EQ(times.due, 1000);
    ExpectBalance(times);
  }
}

TEST(PictureTimes, AClockThatWasSetIsAStepAndNoLoss) {
  for (const std::int64_t by : {std::int64_t{3'600'000}, std::int64_t{-5'000}}) {
    auto stamps = Stamps(base::Rational(25), 1000, 2000);
    for (std::size_t i = 1000; i < stamps.size(); ++i) {
      stamps[i] += by;
    }
    const auto times = Counted(stamps, 1000);
    EXPECT_EQ(times.missing, 0);
    EXPECT_EQ(times.out_of_order, 0);
    ASSERT_THAT(times.steps, SizeIs(1));
    EXPECT_NEAR(times.steps[0].by_s, static_cast<double>(by) / 1000, 1e-6);
    EXPECT_EQ(times.due, 2000);
    EXPECT_NEAR(times.end_s, 80, 1e-6);  // places go on without the step
  }
}

TEST(PictureTimes, EmptyPacketsStandForMissingPictures) {
  PictureTimes pictures(base::Rational(1, 25), base::Rational(25));
  for (std::int64_t i = 0; i < 100; ++i) {
    pictures.Add({i, i, i == 40 || i == 41 ? 0 : 100, false});
  }
  const auto times = pictures.Finish(0);
  EXPECT_EQ(times.present, 98);
  EXPECT_EQ(times.missing, 2);
}

TEST(PictureTimes, WithoutTimesNothingIsJudged) {
  PictureTimes pictures(base::Rational(1, 25), std::nullopt);
  for (int i = 0; i < 10; ++i) {
    pictures.Add({std::nullopt, std::nullopt, 100, false});
  }
  const auto times = pictures.Finish(0);
  EXPECT_EQ(times.untimed, 10);
  EXPECT_EQ(times.due, 0);
  EXPECT_EQ(times.beat, Beat::kUnknown);
}

TEST(PictureTimes, ExtremeTimesAreTakenCalmly) {
  const std::int64_t most = INT64_MAX;
  for (const base::Rational tick : {base::Rational(1, 1'000'000'000), base::Rational(most, 1)}) {
    PictureTimes pictures(tick, base::Rational(most, 1));
    for (const std::int64_t at : {most, INT64_MIN, std::int64_t{0}, kMostTicks, -kMostTicks,
                                  std::int64_t{1}, most - 1, kMostTicks, std::int64_t{5}}) {
      pictures.Add({at, -(at / 2), 1, false});
      pictures.Add({at, at, 1, false});
    }
    const auto times = pictures.Finish(0);
    EXPECT_EQ(times.present, 18);
    ExpectBalance(times);
  }
}

TEST(PictureTimes, JoinedFilesThatBeginAnewFollowEachOther) {
  PictureTimes pictures(base::Rational(1, 1000), base::Rational(25));
  for (int file = 0; file < 3; ++file) {
    if (file > 0) {
      pictures.Settle();
      pictures.Join(*pictures.end_s());
    }
    for (std::int64_t i = 0; i < 50; ++i) {
      pictures.Add({40 * i, 40 * i, 100, false});
    }
  }
  const auto times = pictures.Finish(0);
  EXPECT_EQ(times.due, 150);
  EXPECT_EQ(times.missing, 0);
  EXPECT_NEAR(times.end_s, 6, 0.05);
}

TEST(PictureTimes, KeepsTheFirstGapsAndCountsAll) {
  std::set<std::int64_t> lost;
  for (std::int64_t i = 3; i < 75'000; i += 3) {
    lost.insert(i);
  }
  const auto times =
      Counted(Stamps(base::Rational(50), 1000, 75'000, lost), 1000, base::Rational(50));
  EXPECT_EQ(times.missing, static_cast<std::int64_t>(lost.size()));
  EXPECT_EQ(times.gap_count, static_cast<std::int64_t>(lost.size()));
  EXPECT_THAT(times.gaps, SizeIs(kMostGaps));
  std::int64_t in_parts = 0;
  for (const std::int64_t part : times.missing_in_part) {
    in_parts += part;
    EXPECT_NEAR(static_cast<double>(part), 25'000.0 / kRecordingParts, 200);
  }
  EXPECT_EQ(in_parts, times.missing);
}

}  // namespace
}  // namespace probes
