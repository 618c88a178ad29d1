// SPDX-License-Identifier: Apache-2.0
//
// The costs program as it is shipped, run as the tool runs it.

#include <filesystem>
#include <fstream>
#include <set>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/system/subprocess.h"
#include "bench/runs/cost_table.h"

namespace {

TEST(CostsProgram, MeasuresEveryStageThatAProfileNeeds) {
  const auto table = bench::RunCostsProgram(RIGPROOF_COSTS, "one-camera-talk", 0.001);
  EXPECT_EQ(table.failure, "");
  std::set<bench::Stage> stages;
  for (const auto& entry : table.entries) {
    stages.insert(entry.stage);
    EXPECT_GT(entry.cpu_ms, 0) << base::WordOf(entry.stage) << "/" << entry.detail;
    EXPECT_GT(entry.wall_ms, 0) << base::WordOf(entry.stage) << "/" << entry.detail;
    EXPECT_GE(entry.iterations, 1);
  }
  EXPECT_THAT(stages, testing::IsSupersetOf({bench::Stage::kAudio, bench::Stage::kCompose,
                                             bench::Stage::kDecode, bench::Stage::kEncode,
                                             bench::Stage::kScale}));
}

TEST(CostsProgram, MeasuresTheHeaviestEncodeWithHarderPicturesToo) {
  const auto table = bench::RunCostsProgram(RIGPROOF_COSTS, "one-camera-talk", 0.001);
  std::vector<std::string> harder;
  for (const auto& entry : table.entries) {
    if (entry.stage == bench::Stage::kEncodeHarder) {
      harder.push_back(entry.detail);
    }
  }
  EXPECT_THAT(harder, testing::ElementsAre("1920x1080 libx264 low stage 12000 kb/s"));
}

/// A production whose only camera shows `clip.mkv` beside it.
void WriteClipProfile(const std::filesystem::path& file) {
  std::ofstream(file) << R"({"format": "rigproof-profile", "version": 1,
    "name": "Own clip", "note": "Invented production.", "duration_minutes": 1,
    "program": {"raster": "640x360", "rate": 25},
    "sources": [{"name": "Left", "arrives_by": "usb", "raster": "640x360", "rate": 25,
                 "pixel_format": "nv12", "content": {"clip": "clip.mkv"}}],
    "outputs": [{"name": "Tape", "kind": "recording", "takes": "program", "codec": "h264",
                 "bitrate_kbps": 2000, "encoder": "software", "effort": "low",
                 "container": "mkv"}],
    "audio": null, "multiview": null, "displays": 0})";
}

TEST(CostsProgram, ReadsTheUsersOwnClip) {
  const auto folder = std::filesystem::path(testing::TempDir()) / "rigproof-costs-clip";
  std::filesystem::create_directories(folder);
  WriteClipProfile(folder / "clip.json");
  base::Command make;
  make.argv = {"ffmpeg",
               "-v",
               "error",
               "-y",
               "-f",
               "lavfi",
               "-i",
               "testsrc2=s=640x360",
               "-t",
               "1",
               "-c:v",
               "ffv1",
               (folder / "clip.mkv").string()};
  const auto made = base::RunProgram(make);
  if (!made || !made->ok()) {
    GTEST_SKIP() << "SKIPPED: no ffmpeg program here to make a clip with";
  }
  const auto table = bench::RunCostsProgram(RIGPROOF_COSTS, (folder / "clip.json").string(), 0.001);
  EXPECT_EQ(table.failure, "");
  std::vector<std::string> encodes;
  for (const auto& entry : table.entries) {
    if (entry.stage == bench::Stage::kEncode || entry.stage == bench::Stage::kEncodeHarder) {
      encodes.push_back(fmt::format("{}/{}", base::WordOf(entry.stage), entry.detail));
    }
  }
  EXPECT_THAT(encodes, testing::ElementsAre("encode/640x360 libx264 low clip 2000 kb/s",
                                            "encode harder/640x360 libx264 low busy 2000 kb/s"));
  std::ofstream(folder / "clip.mkv") << "no clip any more";
  const auto without =
      bench::RunCostsProgram(RIGPROOF_COSTS, (folder / "clip.json").string(), 0.001);
  EXPECT_THAT(without.failure, testing::HasSubstr("clip cannot be read"));
  std::filesystem::remove_all(folder);
}

TEST(CostsProgram, LeavesOutWhatTheBudgetDoesNotHold) {
  // The first stage alone takes longer than the second that all of them have.
  const auto table = bench::RunCostsProgram(RIGPROOF_COSTS, "one-camera-talk", 2, {}, 1);
  EXPECT_LE(table.entries.size(), 1U);
  EXPECT_THAT(table.failure, testing::HasSubstr("no time was left for it (and "));
}

TEST(CostsProgram, SaysWhatIsWrongWithAProfile) {
  const auto table = bench::RunCostsProgram(RIGPROOF_COSTS, "no such profile", 0.001);
  EXPECT_TRUE(table.entries.empty());
  EXPECT_NE(table.failure.find("no such profile"), std::string::npos) << table.failure;
}

}  // namespace
