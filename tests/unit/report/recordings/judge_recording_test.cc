// SPDX-License-Identifier: Apache-2.0
//
// What is said of a recording, and the two writers of it.

#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "report/data/recording.h"
#include "report/show/rows/recording.h"
#include "report/show/terminal/blocks.h"

namespace report {
namespace {

using testing::HasSubstr;
using testing::Not;

probes::Recording Sample() {
  probes::Recording recording;
  recording.name = "show.mkv";
  recording.container = "matroska,webm";
  recording.read_from = "packets";
  recording.bytes = 1'000'000'000;
  recording.length_s = 3600;
  recording.started.push_back({1'795'626'000, 2, probes::ClockSource::kCreationTime});
  probes::TrackTimes pictures;
  pictures.kind = probes::TrackKind::kVideo;
  pictures.beat = probes::Beat::kConstant;
  pictures.codec = "h264";
  pictures.what = "1920x1080";
  pictures.rate_numerator = 25;
  pictures.end_s = 3600;
  pictures.due = pictures.present = 90'000;
  probes::TrackTimes sound;
  sound.index = 1;
  sound.kind = probes::TrackKind::kAudio;
  sound.end_s = 3600;
  sound.present = sound.due = 168'750;
  recording.tracks = {pictures, sound};
  probes::AvDrift drift;
  drift.sound_track = 1;
  drift.by_clocks = probes::ClockSlope{20, 19, 21, 3600};
  recording.drifts = {drift};
  return recording;
}

void Lose(probes::Recording& recording, std::int64_t pictures) {
  auto& track = recording.tracks[0];
  track.missing = pictures;
  track.present -= pictures;
  track.gap_count = 1;
  track.gaps = {{100, 0.04 * static_cast<double>(pictures), pictures}};
  track.missing_in_part[0] = pictures;
}

// ITU-R BT.1359-1 (1998): noticed from +45 and -125 ms, acceptable to +90 and -185 ms.
TEST(LipSyncAt, FollowsTheRecommendation) {
  EXPECT_EQ(LipSyncAt(45), LipSync::kNotNoticed);
  EXPECT_EQ(LipSyncAt(46), LipSync::kNoticed);
  EXPECT_EQ(LipSyncAt(91), LipSync::kNotAcceptable);
  EXPECT_EQ(LipSyncAt(-125), LipSync::kNotNoticed);
  EXPECT_EQ(LipSyncAt(-126), LipSync::kNoticed);
  EXPECT_EQ(LipSyncAt(-186), LipSync::kNotAcceptable);
}

TEST(JudgeRecording, NothingMissing) {
  const auto document = JudgeRecording(Sample());
  EXPECT_EQ(document.verdict, RecordingVerdict::kNothingMissing);
  EXPECT_EQ(ExitStatus(document.verdict), 0);
  EXPECT_THAT(document.headline, HasSubstr("90,000"));
  ASSERT_EQ(document.lip_sync.size(), 1U);
  // 20 ppm are 72 ms in an hour; 45 ms come together in 37.5 minutes.
  EXPECT_NEAR(document.lip_sync[0].early_ms_per_hour, 72, 1e-9);
  EXPECT_TRUE(document.lip_sync[0].certain);
  EXPECT_NEAR(document.lip_sync[0].noticed_after_s, 2250, 1e-6);
  EXPECT_EQ(document.lip_sync[0].at_end, LipSync::kNoticed);
}

TEST(JudgeRecording, MissingPicturesAndHolesInSound) {
  auto recording = Sample();
  Lose(recording, 7);
  EXPECT_THAT(JudgeRecording(recording).headline, HasSubstr("7 of 90,000 frames are missing"));
  EXPECT_EQ(ExitStatus(JudgeRecording(recording).verdict), 4);
  auto sound = Sample();
  sound.tracks[1].gap_count = 1;
  sound.tracks[1].gap_seconds = 0.5;
  EXPECT_EQ(JudgeRecording(sound).verdict, RecordingVerdict::kPartsMissing);
}

TEST(JudgeRecording, PicturesThatEndEarlyAreEndOnly) {
  auto recording = Sample();
  recording.tracks[0].end_s = 3000;
  const auto document = JudgeRecording(recording);
  EXPECT_EQ(document.verdict, RecordingVerdict::kPartsMissing);
  EXPECT_EQ(document.patterns.at(0).missing.shape, GapShape::kEndOnly);
}

TEST(JudgeRecording, TracksThatBeginOrEndApartAreNotWhole) {
  const auto headline = [](std::size_t track, double first_s, double end_s) {
    auto recording = Sample();
    recording.tracks.at(track).first_s = first_s;
    recording.tracks.at(track).end_s = end_s;
    const auto document = JudgeRecording(recording);
    EXPECT_EQ(document.verdict, RecordingVerdict::kPartsMissing);
    return document.headline;
  };
  EXPECT_THAT(headline(0, 20, 3600), HasSubstr("the pictures begin 20.0 s after"));
  EXPECT_THAT(headline(1, 30, 3600), HasSubstr("the sound begins 30.0 s after"));
  EXPECT_THAT(headline(1, 0, 3570), HasSubstr("the sound ends 30.0 s before"));
  auto together = Sample();
  together.tracks[1].first_s = 0.9;
  together.tracks[1].end_s = 3599.1;
  EXPECT_EQ(JudgeRecording(together).verdict, RecordingVerdict::kNothingMissing);
}

TEST(JudgeRecording, WhatCannotBeToldIsNotNothingMissing) {
  auto set = Sample();
  set.tracks[0].step_count = 2;
  EXPECT_EQ(JudgeRecording(set).verdict, RecordingVerdict::kUnproven);
  EXPECT_THAT(JudgeRecording(set).headline, HasSubstr("its clock was set 2 times"));
  auto sparse = Sample();
  sparse.tracks[0].stated_per_s = 50;
  EXPECT_EQ(JudgeRecording(sparse).verdict, RecordingVerdict::kUnproven);
  EXPECT_THAT(JudgeRecording(sparse).headline, HasSubstr("90,000 are missing"));
  auto numbered = Sample();
  numbered.tracks[0].times_from = probes::TimesFrom::kNumbers;
  numbered.tracks[0].end_s = 3596;
  EXPECT_EQ(JudgeRecording(numbered).verdict, RecordingVerdict::kUnproven);
  EXPECT_THAT(JudgeRecording(numbered).headline, HasSubstr("end 4.0 s before"));
  auto variable = Sample();
  variable.tracks[0].beat = probes::Beat::kVariable;
  variable.tracks[0].fastest_per_s = 60;
  variable.tracks[0].missing_at_fastest = 126'000;
  EXPECT_THAT(JudgeRecording(variable).headline, HasSubstr("126,000 would be"));
}

TEST(JudgeRecording, AVariableBeatAndAPartAreUnproven) {
  auto variable = Sample();
  variable.tracks[0].beat = probes::Beat::kVariable;
  EXPECT_EQ(ExitStatus(JudgeRecording(variable).verdict), 5);
  EXPECT_THAT(JudgeRecording(variable).headline, HasSubstr("no constant beat"));
  auto part = Sample();
  part.state = probes::ReadState::kPartly;
  EXPECT_EQ(JudgeRecording(part).verdict, RecordingVerdict::kUnproven);
  EXPECT_THAT(JudgeRecording(part).headline, HasSubstr("as far as it could be read"));
}

TEST(JudgeRecording, DriftThatMayBeNoneIsNotCertain) {
  auto recording = Sample();
  // Two stamps that step by 30 ms are as much as those 72 ms, and no drift.
  recording.tracks[1].uneven_ms = 30;
  EXPECT_FALSE(JudgeRecording(recording).lip_sync.at(0).certain);
  recording.tracks[1].uneven_ms = 1;
  EXPECT_TRUE(JudgeRecording(recording).lip_sync.at(0).certain);
  recording.drifts[0].by_clocks = probes::ClockSlope{0.5, -1, 2, 3600};
  recording.drifts[0].by_ends = base::Reading<probes::ClockSlope>::Unknown("too short");
  EXPECT_FALSE(JudgeRecording(recording).lip_sync.at(0).certain);
  recording.drifts[0].by_ends = probes::ClockSlope{-100, -110, -90, 3600};
  const auto meaning = JudgeRecording(recording).lip_sync.at(0);
  EXPECT_EQ(meaning.from, DriftFrom::kEnds);
  EXPECT_FALSE(meaning.certain);  // nothing says that both were started and stopped together
  EXPECT_EQ(meaning.at_end, LipSync::kNotAcceptable);
  EXPECT_NEAR(meaning.noticed_after_s, 1250, 1e-6);  // -125 ms at -360 ms an hour
}

TEST(RecordingsJson, HasItsStableKeys) {
  auto lost = Sample();
  Lose(lost, 3);
  const auto json =
      nlohmann::json::parse(RecordingsJson({JudgeRecording(Sample()), JudgeRecording(lost)}));
  EXPECT_EQ(json["format"], "rigproof-examine");
  EXPECT_EQ(json["version"], 1);
  EXPECT_EQ(json["verdict"], "parts missing");
  ASSERT_EQ(json["recordings"].size(), 2U);
  const auto& one = json["recordings"][1];
  EXPECT_EQ(one["verdict"], "parts missing");
  EXPECT_EQ(one["name"], "show.mkv");
  EXPECT_EQ(one["state"], "whole");
  EXPECT_EQ(one["started"][0]["source"], "creation time");
  EXPECT_EQ(one["tracks"][0]["kind"], "pictures");
  EXPECT_EQ(one["tracks"][0]["missing"], 3);
  EXPECT_EQ(one["tracks"][0]["gaps"][0]["missing"], 3);
  EXPECT_EQ(one["tracks"][0]["missing_in_part"].size(), 12U);
  EXPECT_TRUE(one["tracks"][0]["content"].is_null());
  EXPECT_EQ(one["patterns"][0]["missing"]["shape"], "bursts");
  EXPECT_EQ(one["drifts"][0]["by_clocks"]["ppm"], 20);
  EXPECT_EQ(one["drifts"][0]["by_ends"]["unknown"], "not read");
  EXPECT_EQ(one["lip_sync"][0]["at_end"], "noticed");
}

TEST(RecordingsJson, HostileBytesStayJson) {
  auto recording = Sample();
  recording.name = "\"\xff\x1b[2J</script>\n";
  recording.remarks = {"\xc3", std::string(1, '\0')};
  recording.tracks[0].codec = "\xfe";
  recording.tracks[0].end_s = 1e300;
  recording.length_s = 1e308;
  EXPECT_TRUE(nlohmann::json::accept(RecordingsJson({JudgeRecording(recording)})));
}

TEST(WriteRecordingsText, SaysWhatWhereAndInWhatShape) {
  auto recording = Sample();
  Lose(recording, 5);
  recording.remarks = {"damaged: something"};
  const std::string text = WriteSheets({SheetOf(JudgeRecording(recording))}, {false, 80});
  for (const char* part :
       {"PARTS MISSING", "5 of 90,000", "show.mkv", "2026-11-25 17:00:00 UTC by its creation time",
        "0:01:40.000", "bursts", "ITU-R BT.1359-1", "+72.0 ms an hour", "damaged: something"}) {
    EXPECT_THAT(text, HasSubstr(part));
  }
}

TEST(WriteRecordingsText, TakesNoEscapesFromARecording) {
  auto recording = Sample();
  recording.name = "a\x1b[31mb";
  recording.remarks = {"c\x1b]0;d\x07"};
  recording.length_s = -1e300;
  const std::string text = WriteSheets({SheetOf(JudgeRecording(recording))}, {false, 40});
  EXPECT_THAT(text, Not(HasSubstr("\x1b")));
}

}  // namespace
}  // namespace report
