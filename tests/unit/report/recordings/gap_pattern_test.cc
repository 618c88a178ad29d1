// SPDX-License-Identifier: Apache-2.0
//
// Shapes of losses: made recordings of ten minutes.

#include "report/recordings/gap_pattern.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/words/rate_names.h"

namespace report {
namespace {

using testing::HasSubstr;

constexpr double kSeconds = 600;

/// A track of ten minutes that lost what `lost` says of each picture.
probes::TrackTimes Track(double rate, const std::function<bool(std::int64_t)>& lost) {
  probes::TrackTimes track;
  track.kind = probes::TrackKind::kVideo;
  track.beat = probes::Beat::kConstant;
  track.rate_numerator = std::llround(rate * 1001);
  track.rate_denominator = 1001;
  track.end_s = kSeconds;
  const auto due = static_cast<std::int64_t>(kSeconds * rate);
  track.due = due;
  for (std::int64_t i = 0; i < due; ++i) {
    if (!lost(i)) {
      continue;
    }
    const double at = static_cast<double>(i) / rate;
    ++track.missing;
    ++track.missing_in_part.at(static_cast<std::size_t>(at / kSeconds * 12));
    if (!track.gaps.empty() && i > 0 && lost(i - 1)) {
      track.gaps.back().length_s += 1 / rate;
      ++track.gaps.back().missing;
    } else {
      track.gaps.push_back({at, 1 / rate, 1});
    }
  }
  track.gap_count = static_cast<std::int64_t>(track.gaps.size());
  return track;
}

GapPattern Named(double rate, const std::function<bool(std::int64_t)>& lost) {
  return NameGapPattern(MissingPlaces(Track(rate, lost)));
}

TEST(NameGapPattern, NothingLostIsNone) {
  EXPECT_EQ(Named(25, [](std::int64_t) { return false; }).shape, GapShape::kNone);
}

// Exact arithmetic: 60 a second into 60000/1001 leaves out one picture in 1001, 30 into 25 one
// in 6.
TEST(NameGapPattern, RatesThatDoNotMatchAreNamed) {
  const auto slow = Named(60, [](std::int64_t i) { return i % 1001 == 1000; });
  EXPECT_EQ(slow.shape, GapShape::kRegular);
  EXPECT_EQ(slow.rates, "60 into 59.94");
  EXPECT_NEAR(slow.spacing_s, 16.683, 0.001);
  EXPECT_LT(slow.spacing_cv, 0.05);
  const auto fast = Named(30, [](std::int64_t i) { return i % 6 == 5; });
  EXPECT_EQ(fast.shape, GapShape::kRegular);
  EXPECT_EQ(fast.rates, "30 into 25");
  const auto half = Named(50, [](std::int64_t i) { return i % 2 == 1; });
  EXPECT_EQ(half.rates, "50 into 25");
  // 60 into 50: no whole number of pictures apart from one to the next.
  const auto uneven = Named(60000.0 / 1001, [](std::int64_t i) {
    return static_cast<std::int64_t>(static_cast<double>(i) * 50 * 1001 / 60000) ==
           static_cast<std::int64_t>(static_cast<double>(i + 1) * 50 * 1001 / 60000);
  });
  EXPECT_EQ(uneven.shape, GapShape::kRegular);
  EXPECT_EQ(uneven.rates, "59.94 into 50");
}

TEST(NameGapPattern, OneLossThatWasNotSeenChangesNoRate) {
  const auto pattern = Named(30, [](std::int64_t i) { return i % 6 == 5 && i != 605; });
  EXPECT_EQ(pattern.shape, GapShape::kRegular);
  EXPECT_EQ(pattern.rates, "30 into 25");
}

TEST(NameGapPattern, ClocksThatRunApartAreTold) {
  // One picture in 6000 at 60 a second, every 100 s, is 167 ppm.
  const auto pattern = NameGapPattern([] {
    auto places = MissingPlaces(Track(60, [](std::int64_t i) { return i % 6000 == 3000; }));
    return places;
  }());
  EXPECT_EQ(pattern.shape, GapShape::kRegular);
  EXPECT_THAT(pattern.rates, HasSubstr("clocks that are 167 ppm apart"));
}

TEST(NameGapPattern, BurstsWithCleanTimeBetween) {
  const auto pattern = Named(25, [](std::int64_t i) {
    return (i > 2000 && i < 2021) || (i > 6100 && i < 6122) || (i > 9000 && i < 9015);
  });
  EXPECT_EQ(pattern.shape, GapShape::kBursts);
  EXPECT_THAT(pattern.decided_by, HasSubstr("3 bursts"));
}

// 119 holes of one or two pictures, never a second apart, over the minute that the take has.
TEST(NameGapPattern, HolesWithoutCleanTimeBetweenAreNoBurst) {
  std::mt19937 dice(7);
  std::vector<std::int64_t> holes;
  for (std::int64_t at = 5; holes.size() < 119; at += 10 + static_cast<std::int64_t>(dice() % 8)) {
    holes.push_back(at);
  }
  const auto lost = [&](std::int64_t i) {
    return std::binary_search(holes.begin(), holes.end(), i);
  };
  auto track = Track(25, lost);
  track.end_s = static_cast<double>(holes.back() + 5) / 25;
  track.due = holes.back() + 5;
  track.missing_in_part = {};
  for (const std::int64_t hole : holes) {
    ++track.missing_in_part.at(static_cast<std::size_t>(hole * 12 / track.due));
  }
  ASSERT_EQ(track.gap_count, 119);
  const auto pattern = NameGapPattern(MissingPlaces(track));
  EXPECT_EQ(pattern.shape, GapShape::kThroughout) << pattern.decided_by;
}

TEST(NameGapPattern, OneBadStretchIsToldWithItsHolesAndLength) {
  std::mt19937 dice(7);
  std::vector<std::int64_t> holes;
  for (std::int64_t at = 5000; holes.size() < 119;
       at += 10 + static_cast<std::int64_t>(dice() % 8)) {
    holes.push_back(at);
  }
  const auto pattern =
      Named(25, [&](std::int64_t i) { return std::binary_search(holes.begin(), holes.end(), i); });
  EXPECT_EQ(pattern.shape, GapShape::kBursts);
  EXPECT_THAT(pattern.decided_by, HasSubstr("in 1 cluster "));
  EXPECT_THAT(pattern.decided_by, HasSubstr("with 119 holes"));
  EXPECT_THAT(pattern.decided_by, testing::Not(HasSubstr("between;")));
}

// Three at a time and never a second apart, but only in the middle three fifths of the recording:
// heavy throughout it is not, and what has no clean time between is no burst either.
TEST(NameGapPattern, HalfOfTheTimeWithoutCleanTimeIsNoBurst) {
  std::mt19937 dice(7);
  std::vector<bool> lost(static_cast<std::size_t>(kSeconds * 25), false);
  for (std::size_t at = 3000; at < 12000; at += 10 + dice() % 8) {
    std::fill_n(lost.begin() + static_cast<std::ptrdiff_t>(at), 3, true);
  }
  const auto pattern = Named(25, [&](std::int64_t i) { return lost[static_cast<std::size_t>(i)]; });
  EXPECT_EQ(pattern.shape, GapShape::kScattered);
  EXPECT_THAT(pattern.decided_by, HasSubstr("of the time has less than a second"));
}

TEST(NameGapPattern, RandomSinglesAreScattered) {
  for (unsigned seed = 1; seed <= 10; ++seed) {
    std::mt19937 dice(seed);
    const auto pattern = Named(
        50, [&](std::int64_t) { return std::uniform_real_distribution<double>()(dice) < 0.001; });
    EXPECT_EQ(pattern.shape, GapShape::kScattered) << pattern.decided_by;
    EXPECT_GT(pattern.spacing_cv, 0.5);
  }
}

TEST(NameGapPattern, LossesThatGrowAreARamp) {
  std::mt19937 dice(4);
  const auto pattern = Named(25, [&](std::int64_t i) {
    const double share = static_cast<double>(i) / (kSeconds * 25) - 0.3;
    return std::uniform_real_distribution<double>()(dice) < share;
  });
  EXPECT_EQ(pattern.shape, GapShape::kRamp) << pattern.decided_by;
}

TEST(NameGapPattern, HeavyFromStartToEndIsThroughout) {
  std::mt19937 dice(4);
  const auto pattern =
      Named(25, [&](std::int64_t) { return std::uniform_real_distribution<double>()(dice) < 0.6; });
  EXPECT_EQ(pattern.shape, GapShape::kThroughout) << pattern.decided_by;
}

TEST(NameGapPattern, StartAndEnd) {
  EXPECT_EQ(Named(30, [](std::int64_t i) { return i > 8 && i < 12; }).shape, GapShape::kStartOnly);
  const auto end = Named(30, [](std::int64_t i) { return i > 15'000 && i % 10 != 0; });
  EXPECT_EQ(end.shape, GapShape::kEndOnly) << end.decided_by;
}

TEST(NameGapPattern, RepeatsNameTheSlowerSource) {
  // 25 a second written at 30: one in six is a repeat.
  auto track = Track(30, [](std::int64_t) { return false; });
  track.content.emplace();
  for (int i = 5; i < 6000; i += 6) {
    track.content->stretches.push_back({i / 30.0, 1 / 30.0, 1});
  }
  const auto pattern = NameGapPattern(RepeatedPlaces(track));
  EXPECT_EQ(pattern.shape, GapShape::kRegular);
  EXPECT_EQ(pattern.rates, "25 into 30");
}

TEST(RateName, SnapsToTheTradesRates) {
  EXPECT_EQ(RateName(60000.0 / 1001, 1), "59.94");
  EXPECT_EQ(RateName(23.9760, 50), "23.976");
  EXPECT_EQ(RateName(27.5, 200), "27.5");
}

}  // namespace
}  // namespace report
