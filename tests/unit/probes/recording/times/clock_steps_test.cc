// SPDX-License-Identifier: Apache-2.0
//
// Steps of one clock while another track runs on.

#include "probes/recording/times/clock_steps.h"

#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/recording/times/sums.h"

namespace probes {
namespace {

using testing::IsEmpty;
using testing::SizeIs;

/// Pictures at 25/s for 100 s whose clock steps by 660 s after 40 s, one hole behind the step; and
/// sound.
std::vector<TrackTimes> Stepped(double sound_end_s) {
  TrackTimes pictures;
  pictures.kind = TrackKind::kVideo;
  pictures.beat = Beat::kConstant;
  pictures.rate_numerator = 25;
  pictures.end_s = 100;
  pictures.present = 2499;
  pictures.missing = 1;
  pictures.due = 2500;
  pictures.gap_count = 1;
  pictures.gap_seconds = 0.04;
  pictures.gaps = {{50, 0.04, 1}};
  pictures.step_count = 1;
  pictures.steps = {{39.96, 660}};
  TrackTimes sound;
  sound.kind = TrackKind::kAudio;
  sound.present = 5000;
  sound.end_s = sound_end_s;
  return {pictures, sound};
}

TEST(TurnStepsIntoHoles, SoundThatRunsOnMakesAHoleOfIt) {
  auto tracks = Stepped(760);
  TurnStepsIntoHoles(tracks);
  const TrackTimes& pictures = tracks[0];
  EXPECT_THAT(pictures.steps, IsEmpty());
  EXPECT_EQ(pictures.step_count, 0);
  ASSERT_THAT(pictures.gaps, SizeIs(2));
  EXPECT_NEAR(pictures.gaps[0].at_s, 40, 1e-9);
  EXPECT_EQ(pictures.gaps[0].missing, 16'500);
  EXPECT_NEAR(pictures.gaps[1].at_s, 710, 1e-9);
  EXPECT_EQ(pictures.missing, 16'501);
  EXPECT_EQ(pictures.due, pictures.present + pictures.missing);
  EXPECT_NEAR(pictures.end_s, 760, 1e-9);
}

TEST(TurnStepsIntoHoles, AClockThatWasSetForBothStaysAStep) {
  auto tracks = Stepped(100);
  tracks[1].step_count = 1;
  tracks[1].steps = {{39.98, 660.02}};
  TurnStepsIntoHoles(tracks);
  EXPECT_THAT(tracks[0].steps, SizeIs(1));
  EXPECT_EQ(tracks[0].missing, 1);
  EXPECT_THAT(tracks[1].steps, SizeIs(1));
}

TEST(TurnStepsIntoHoles, WithoutAWitnessAStepStaysOne) {
  auto short_sound = Stepped(100);
  TurnStepsIntoHoles(short_sound);
  EXPECT_THAT(short_sound[0].steps, SizeIs(1));
  std::vector<TrackTimes> alone = {Stepped(0)[0]};
  TurnStepsIntoHoles(alone);
  EXPECT_THAT(alone[0].steps, SizeIs(1));
}

TEST(DriftOf, LengthsTellNothingOfTracksThatWereNotBegunAndStoppedTogether) {
  const auto by_ends = [](double first_s, double end_s) {
    auto tracks = Stepped(0);
    tracks[0].step_count = 0;
    tracks[0].end_s = 3600;
    tracks[1].first_s = first_s;
    tracks[1].end_s = end_s;
    return DriftOf(tracks[0], tracks[1]).by_ends;
  };
  const auto drift = by_ends(0, 3599.64);  // 100 ppm
  ASSERT_TRUE(drift);
  EXPECT_NEAR(drift->ppm, 100, 1e-6);
  EXPECT_FALSE(by_ends(30, 3600));
  EXPECT_FALSE(by_ends(30, 3629.64));
  EXPECT_FALSE(by_ends(0, 3570));
}

}  // namespace
}  // namespace probes
