// SPDX-License-Identifier: Apache-2.0

#include "report/stored/older_result.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace report::stored {
namespace {

using bench::CostSubject;
using bench::Stage;
using profiles::Content;
using profiles::Effort;

TEST(SubjectOfDetail, ReadsWhatTheCostsProgramWrote) {
  EXPECT_EQ(SubjectOfDetail(Stage::kConvert, "1280x720 yuyv422"),
            (CostSubject{1280, 720, "yuyv422"}));
  EXPECT_EQ(SubjectOfDetail(Stage::kDecode, "1920x1080 h264"), (CostSubject{1920, 1080, "h264"}));
  EXPECT_EQ(SubjectOfDetail(Stage::kCompose, "1280x720 from 2"), (CostSubject{1280, 720, ""}));
  EXPECT_EQ(SubjectOfDetail(Stage::kScale, "1280x720 to 640x360"), (CostSubject{1280, 720, ""}));
  EXPECT_EQ(SubjectOfDetail(Stage::kAudio, "aac 2 channels 48000 Hz"), (CostSubject{0, 0, "aac"}));
  EXPECT_EQ(SubjectOfDetail(Stage::kEncodeHarder, "1280x720 libx264 low stage 6000 kb/s"),
            (CostSubject{1280, 720, "libx264", Effort::kLow, Content::kStage, 6000}));
  EXPECT_EQ(SubjectOfDetail(Stage::kEncode, "1280x720 libx264"),
            (CostSubject{1280, 720, "libx264"}));
}

TEST(SubjectOfDetail, IsNothingWhereTheTextIsAnother) {
  for (const char* const detail :
       {"", " ", "plan", "1280x nv12", "x720 nv12", "0x720 nv12", "-1x720 nv12", "1280x720",
        "99999999999999999999x1 nv12", "1280x720x2 nv12", "mp3 2 channels"}) {
    for (const Stage stage : {Stage::kConvert, Stage::kCompose, Stage::kEncode, Stage::kAudio}) {
      EXPECT_EQ(SubjectOfDetail(stage, detail), std::nullopt) << detail;
    }
  }
  EXPECT_EQ(SubjectOfDetail(Stage::kEncode, "1280x720 libx264 brisk talk 1 kb/s"), std::nullopt);
  EXPECT_EQ(SubjectOfDetail(Stage::kEncode, "1280x720 libx264 low tango 1 kb/s"), std::nullopt);
  EXPECT_EQ(SubjectOfDetail(Stage::kEncode, "1280x720 libx264 low talk -3 kb/s"), std::nullopt);
  EXPECT_EQ(SubjectOfDetail(Stage::kWrite, "1280x720 nv12"), std::nullopt);
}

TEST(FillInOlder, TellsApartWhatWasNotRead) {
  Evidence evidence;
  evidence.telemetry.emplace().not_read = {"disk writes: no folder", "own CPU use: no stat",
                                           "CPU use: gone"};
  FillInOlder(evidence);
  EXPECT_EQ(evidence.telemetry->cpu_use_not_read, "CPU use: gone");
  EXPECT_EQ(evidence.telemetry->own_cpu_use_not_read, "own CPU use: no stat");
}

TEST(FillInOlder, LeavesWhatIsTold) {
  Evidence evidence;
  const CostSubject told{640, 360, "nv12"};
  evidence.results.costs.emplace().entries = {{Stage::kConvert, "1280x720 yuyv422", 1, 1, 1, told},
                                              {Stage::kConvert, "1280x720 yuyv422", 1, 1, 1}};
  FillInOlder(evidence);
  EXPECT_EQ(evidence.results.costs->entries[0].of, told);
  EXPECT_EQ(evidence.results.costs->entries[1].of, (CostSubject{1280, 720, "yuyv422"}));
}

}  // namespace
}  // namespace report::stored
