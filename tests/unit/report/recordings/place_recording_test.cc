// SPDX-License-Identifier: Apache-2.0
//
// Where made recordings lie in made logs: by clocks that are right, wrong or missing, and by
// search.

#include "report/recordings/place_recording.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/watched_sample.h"

namespace report {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using testing::MadeLog;
using testing::MadeRecording;
using ::testing::Not;
using testing::OutlineOf;

constexpr double kStart = 40;
constexpr double kLength = 60;

/// A log of 200 s in which a recording of 60 s grows from its second 40 on.
LogOutline Outline(const testing::Change& change = {}) {
  return OutlineOf(MadeLog(200, kStart, kStart + kLength, change));
}

ClockPlace Clock(probes::ClockSource source, double within_s, std::vector<double> log_s) {
  return {{1'795'626'000, within_s, source}, std::move(log_s)};
}

TEST(PlaceRecording, TakesWhatTheUserSays) {
  const LogPlace place = PlaceRecording(MadeRecording(kLength, {}), {}, Outline(), 12.5);
  EXPECT_EQ(place.by, PlacedBy::kUser);
  EXPECT_DOUBLE_EQ(place.at_s, 12.5);
}

TEST(PlaceRecording, ASureClockIsTakenAsItIs) {
  const LogPlace place =
      PlaceRecording(MadeRecording(kLength, {}),
                     {Clock(probes::ClockSource::kCreationTime, 2, {kStart + 0.5})}, Outline(), {});
  EXPECT_EQ(place.by, PlacedBy::kClock);
  EXPECT_DOUBLE_EQ(place.at_s, kStart + 0.5);
  EXPECT_THAT(place.told, HasSubstr("creation time (within 2 s)"));
  EXPECT_THAT(place.doubts, IsEmpty());
}

TEST(PlaceRecording, AFileTimeIsMadeCloserBySearch) {
  const LogPlace place =
      PlaceRecording(MadeRecording(kLength, {}),
                     {Clock(probes::ClockSource::kFileTime, 10, {kStart - 6})}, Outline(), {});
  EXPECT_EQ(place.by, PlacedBy::kClockAndSearch);
  EXPECT_NEAR(place.at_s, kStart, 1);
  EXPECT_GE(place.confidence_percent, 90);
  EXPECT_LE(place.confidence_percent, 99);
}

TEST(PlaceRecording, AClockThatMissesTheLogGivesWayToSearch) {
  const LogPlace place =
      PlaceRecording(MadeRecording(kLength, {}), {Clock(probes::ClockSource::kCreationTime, 2, {})},
                     Outline(), {});
  EXPECT_EQ(place.by, PlacedBy::kSearch);
  EXPECT_NEAR(place.at_s, kStart, 1);
  EXPECT_THAT(place.told, HasSubstr("its clocks do not meet the log; by search: growth"));
}

TEST(PlaceRecording, AWrongClockInsideTheLogIsDoubted) {
  const LogPlace place =
      PlaceRecording(MadeRecording(kLength, {}),
                     {Clock(probes::ClockSource::kCreationTime, 2, {120})}, Outline(), {});
  EXPECT_EQ(place.by, PlacedBy::kClock);
  ASSERT_THAT(place.doubts, ::testing::SizeIs(1));
  EXPECT_THAT(place.doubts[0], HasSubstr("a search finds it -80 s from there"));
}

TEST(PlaceRecording, TroubleAtTheHolesFindsARecordingWhoseGrowthIsNotTold) {
  const std::vector<double> troubles{50, 61, 77, 90, 93};
  const auto trouble = [&](probes::WatchSample& sample) {
    sample.recording_bytes_per_second.reset();
    for (const double at_s : troubles) {
      if (sample.pc.at_s > at_s && sample.pc.at_s < at_s + 1) {
        sample.pc.run_wait_cpus = 2;
      }
    }
  };
  std::vector<std::pair<double, int>> holes;
  holes.reserve(troubles.size());
  for (const double at_s : troubles) {
    holes.emplace_back(at_s - kStart, 20);
  }
  const LogPlace place = PlaceRecording(MadeRecording(kLength, holes), {}, Outline(trouble), {});
  EXPECT_EQ(place.by, PlacedBy::kSearch);
  EXPECT_NEAR(place.at_s, kStart, 1);
  EXPECT_THAT(place.told, HasSubstr("trouble of the PC at its holes"));
}

TEST(PlaceRecording, TwoPlacesThatFitAlikeAreNoAnswer) {
  probes::WatchLog log = MadeLog(300, kStart, kStart + kLength);
  for (probes::WatchSample& sample : log.samples) {
    if (sample.pc.at_s > 180 && sample.pc.at_s <= 180 + kLength) {
      sample.recording_bytes_per_second = 400e3;
    }
  }
  const LogPlace place = PlaceRecording(MadeRecording(kLength, {}), {}, OutlineOf(log), {});
  EXPECT_EQ(place.by, PlacedBy::kNothing);
  EXPECT_THAT(place.told, HasSubstr("a search is not sure"));
  EXPECT_LT(place.confidence_percent, 60);
}

// One long hole and two troubles of its length: which one it was, nothing tells.
TEST(PlaceRecording, TwoTroublesThatFitOneHoleAreToldApartByNothing) {
  const auto trouble = [](probes::WatchSample& sample) {
    sample.recording_bytes_per_second.reset();
    const double at_s = sample.pc.at_s;
    if ((at_s > 70 && at_s < 74) || (at_s > 79.6 && at_s < 83.6)) {
      sample.pc.run_wait_cpus = 2;
    }
  };
  const LogPlace place = PlaceRecording(MadeRecording(kLength, {{30, 100}}),
                                        {Clock(probes::ClockSource::kFileTime, 12, {kStart + 4})},
                                        Outline(trouble), {});
  EXPECT_EQ(place.by, PlacedBy::kClock);
  EXPECT_THAT(place.doubts, ::testing::Contains(HasSubstr("cannot tell one place from another")));
}

// The trouble at the hole was longer than another that has just the hole's length.
TEST(PlaceRecording, ALongHoleIsNoMoreThanOneEvent) {
  const auto trouble = [](probes::WatchSample& sample) {
    sample.recording_bytes_per_second.reset();
    const double at_s = sample.pc.at_s;
    if ((at_s > 71 && at_s < 73) || (at_s > 79.6 && at_s < 83.6)) {
      sample.pc.run_wait_cpus = 2;
    }
  };
  const LogPlace place = PlaceRecording(MadeRecording(kLength, {{30, 100}}),
                                        {Clock(probes::ClockSource::kFileTime, 12, {kStart + 4})},
                                        Outline(trouble), {});
  EXPECT_LT(place.confidence_percent, 99.5);
  EXPECT_THAT(place.doubts, Not(IsEmpty()));
}

TEST(PlaceRecording, NothingToGoByIsSaid) {
  const LogPlace place = PlaceRecording(
      MadeRecording(kLength, {}), {},
      Outline([](probes::WatchSample& sample) { sample.recording_bytes_per_second.reset(); }), {});
  EXPECT_EQ(place.by, PlacedBy::kNothing);
  EXPECT_THAT(place.told, HasSubstr("nothing to search by"));
}

TEST(PlaceRecording, AnEmptyLogPlacesNothing) {
  EXPECT_EQ(PlaceRecording(MadeRecording(kLength, {{3, 2}}), {}, {}, {}).by, PlacedBy::kNothing);
}

}  // namespace
}  // namespace report
