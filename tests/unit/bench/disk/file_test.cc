// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/file.h"

#include <sys/resource.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace {

class RecordingFileTest : public testing::Test {
 protected:
  RecordingFileTest() {
    std::string name = testing::TempDir() + "rigproof_file_XXXXXX";
    folder_ = mkdtemp(name.data());
  }
  ~RecordingFileTest() override { std::filesystem::remove_all(folder_); }

  std::size_t FilesInFolder() const {
    return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder_),
                                                  std::filesystem::directory_iterator()));
  }

  std::filesystem::path folder_;
};

TEST_F(RecordingFileTest, KeepsWhatWasWrittenAlsoBackwards) {
  auto file = bench::RecordingFile::Open(folder_ / "a.mp4", true);
  ASSERT_TRUE(file);
  const std::vector<std::uint8_t> body = {'b', 'o', 'd', 'y'};
  const std::vector<std::uint8_t> head = {'H', 'E'};
  ASSERT_TRUE(file->WriteAt(4, body));
  ASSERT_TRUE(file->WriteAt(0, head));
  EXPECT_EQ(file->size(), 8);
  ASSERT_TRUE(file->Finish());
  std::ifstream stream(folder_ / "a.mp4", std::ios::binary);
  const std::string text{std::istreambuf_iterator<char>(stream), {}};
  EXPECT_EQ(text, std::string("HE\0\0body", 8));
}

TEST_F(RecordingFileTest, PacesAcrossSeveralChunks) {
  auto file = bench::RecordingFile::Open(folder_ / "long", true);
  ASSERT_TRUE(file);
  const std::vector<std::uint8_t> block(1 << 20, 0x5a);
  for (std::int64_t i = 0; i < 20; ++i) {
    ASSERT_TRUE(file->WriteAt(i << 20, block));
  }
  ASSERT_TRUE(file->Finish());
  EXPECT_EQ(std::filesystem::file_size(folder_ / "long"), 20U << 20);
}

TEST_F(RecordingFileTest, PacesBySecondsOfFewBytes) {
  auto file = bench::RecordingFile::Open(folder_ / "slow", true);
  ASSERT_TRUE(file);
  file->PaceBySecond(70'001);  // no whole pages
  const std::vector<std::uint8_t> block(10'000, 0x5a);
  for (std::int64_t i = 0; i < 30; ++i) {
    ASSERT_TRUE(file->WriteAt(i * 10'000, block));
  }
  ASSERT_TRUE(file->Finish());
  EXPECT_EQ(std::filesystem::file_size(folder_ / "slow"), 300'000U);
}

TEST(ChunkBytes, AreWholePagesOfWhatASecondBrings) {
  EXPECT_EQ(bench::ChunkBytes(70'001), 69'632);
  EXPECT_EQ(bench::ChunkBytes(1), 64 << 10);
  EXPECT_EQ(bench::ChunkBytes(1'000'000'000), 8 << 20);
}

TEST(WritebackPolicyText, SaysWhatAChunkIs) {
  EXPECT_NE(bench::WritebackPolicyText().find("chunks of 8 MiB;"), std::string::npos);
  EXPECT_NE(bench::WritebackBySecondText().find("chunks of what a second brings, 8 MiB at most;"),
            std::string::npos);
}

TEST_F(RecordingFileTest, LeavesNoNameUnlessKept) {
  auto file = bench::RecordingFile::Open(folder_ / "gone", false);
  ASSERT_TRUE(file);
  EXPECT_EQ(FilesInFolder(), 0U);
  EXPECT_TRUE(file->WriteAt(0, std::vector<std::uint8_t>(100, 1)));
  EXPECT_TRUE(file->Finish());
  EXPECT_EQ(FilesInFolder(), 0U);
}

TEST_F(RecordingFileTest, NeverOverwrites) {
  std::ofstream(folder_ / "mine") << "precious";
  const auto file = bench::RecordingFile::Open(folder_ / "mine", true);
  ASSERT_FALSE(file);
  EXPECT_EQ(file.error().kind, base::ErrorKind::kInvalid);
  EXPECT_EQ(std::filesystem::file_size(folder_ / "mine"), 8U);
}

TEST_F(RecordingFileTest, SaysThatTheFolderIsMissing) {
  const auto file = bench::RecordingFile::Open(folder_ / "none" / "a", false);
  ASSERT_FALSE(file);
  EXPECT_EQ(file.error().kind, base::ErrorKind::kNotPresent);
}

TEST_F(RecordingFileTest, RefusesWritesAfterFinish) {
  auto file = bench::RecordingFile::Open(folder_ / "a", false);
  ASSERT_TRUE(file);
  ASSERT_TRUE(file->Finish());
  EXPECT_TRUE(file->Finish());
  EXPECT_FALSE(file->WriteAt(0, std::vector<std::uint8_t>(1, 1)));
}

TEST_F(RecordingFileTest, MovesItsFile) {
  auto first = bench::RecordingFile::Open(folder_ / "a", false);
  ASSERT_TRUE(first);
  bench::RecordingFile second = *std::move(first);
  EXPECT_TRUE(second.WriteAt(0, std::vector<std::uint8_t>(3, 1)));
  EXPECT_EQ(second.size(), 3);
}

// A file-size limit is the full disk that a test may make.
int WritePastTheLimit() {
  std::string name = testing::TempDir() + "rigproof_limit_XXXXXX";
  const std::filesystem::path folder = mkdtemp(name.data());
  auto file = bench::RecordingFile::Open(folder / "a", false);
  std::filesystem::remove(folder);
  const rlimit limit = {4096, 4096};
  if (!file || setrlimit(RLIMIT_FSIZE, &limit) != 0) {
    return 1;
  }
  const auto status = file->WriteAt(0, std::vector<std::uint8_t>(5000, 1));
  return !status && status.error().detail.find("largest size") != std::string::npos &&
                 file->size() == 4096
             ? 7
             : 2;
}

TEST(RecordingFileLimits, TellsAFileTooLarge) {
  EXPECT_EXIT(std::_Exit(WritePastTheLimit()), testing::ExitedWithCode(7), "");
}

}  // namespace
