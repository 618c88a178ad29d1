// SPDX-License-Identifier: Apache-2.0
//
// What a quick run is told to take, and what of its time is left.

#include "cli/runs/run_time.h"

#include <chrono>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "cli/system/stop_after.h"
#include "profiles/text/reader.h"

namespace {

using cli::DurationsOf;
using cli::Length;
using testing::HasSubstr;

profiles::Profile Cameras(int count, profiles::Raster raster) {
  profiles::Profile profile = *profiles::ReadProfile("one-camera-talk");
  profile.sources.resize(1);
  for (int i = 1; i < count; ++i) {
    profile.sources.push_back(profile.sources.front());
  }
  for (profiles::Source& source : profile.sources) {
    source.raster = raster;
  }
  profile.program_raster = raster;
  for (profiles::Output& output : profile.outputs) {
    output.raster = raster;
  }
  return profile;
}

TEST(ExpectedSeconds, OfAQuickRunGrowWithTheRasterUpToTheBound) {
  const profiles::Profile small = Cameras(1, {640, 360});
  const profiles::Profile large = Cameras(6, {3840, 2160});
  const cli::Durations quick = DurationsOf(Length::kQuick, small);
  EXPECT_LT(cli::ExpectedSeconds(small, quick, 2), cli::ExpectedSeconds(large, quick, 2));
  EXPECT_LT(cli::ExpectedSeconds(large, quick, 16), cli::ExpectedSeconds(large, quick, 2) + 1e-9);
  EXPECT_LE(cli::ExpectedSeconds(large, quick, 1), quick.whole_s);
  EXPECT_THAT(cli::ExpectedText(large, quick, 1), HasSubstr("2 min at most"));
}

TEST(MostPictures, FallWithTheRasterAndGrowWithTheCpus) {
  const profiles::Profile small = Cameras(3, {1920, 1080});
  const profiles::Profile large = Cameras(6, {3840, 2160});
  const cli::Durations quick = DurationsOf(Length::kQuick, small);
  EXPECT_GT(cli::MostPictures(small, quick, 2), 48);
  EXPECT_LT(cli::MostPictures(large, quick, 2), 24);
  EXPECT_GT(cli::MostPictures(large, quick, 16), 48);
}

TEST(ExpectedSeconds, OfALongRunAreThoseOfItsParts) {
  const profiles::Profile profile = Cameras(1, {640, 360});
  const cli::Durations full = DurationsOf(Length::kFull, profile);
  EXPECT_GT(cli::ExpectedSeconds(profile, full, 4), 60.0 * profile.duration_minutes);
  EXPECT_THAT(cli::ExpectedText(profile, full, 4), HasSubstr("some minutes more"));
}

TEST(TimeLeft, GivesWhatIsLeftAboveWhatIsReserved) {
  base::ManualClock clock;
  cli::TimeLeft left(clock, 100);
  EXPECT_DOUBLE_EQ(left.Share(20, 10, 30), 20);
  clock.AdvanceNs(60'000'000'000);
  EXPECT_DOUBLE_EQ(left.Seconds(), 40);
  EXPECT_DOUBLE_EQ(left.Share(20, 10, 25), 15);
  EXPECT_DOUBLE_EQ(left.Share(20, 10, 35), 0);
  left.Extend(50);
  EXPECT_DOUBLE_EQ(left.Share(20, 10, 35), 20);
  clock.AdvanceNs(500'000'000'000);
  EXPECT_DOUBLE_EQ(left.Share(20, 10, 0), 0);
}

TEST(TimeLeft, WithoutABoundIsEnoughForAll) {
  base::ManualClock clock;
  const cli::TimeLeft left(clock, 0);
  clock.AdvanceNs(500'000'000'000);
  EXPECT_DOUBLE_EQ(left.Share(180, 10, 60), 180);
}

TEST(StopAfter, StopsWhenTimeIsUp) {
  const cli::StopAfter stop(0, {});
  while (!stop.Token().stop_requested()) {
    std::this_thread::yield();
  }
  EXPECT_TRUE(stop.TimeIsUp());
}

TEST(StopAfter, StopsOnRequestWithoutTimeBeingUp) {
  std::stop_source source;
  const cli::StopAfter stop(3600, source.get_token());
  EXPECT_FALSE(stop.Token().stop_requested());
  source.request_stop();
  EXPECT_TRUE(stop.Token().stop_requested());
  EXPECT_FALSE(stop.TimeIsUp());
}

}  // namespace
