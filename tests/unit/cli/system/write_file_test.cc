// SPDX-License-Identifier: Apache-2.0
//
// Files that are written whole, and folders that cannot take them.

#include "cli/system/write_file.h"

#include <stdlib.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace cli {
namespace {

class WriteFile : public testing::Test {
 protected:
  WriteFile() {
    std::string made = testing::TempDir() + "rigproof-write.XXXXXX";
    folder_ = mkdtemp(made.data());
  }
  ~WriteFile() override { std::filesystem::remove_all(folder_); }

  static std::string TextOf(const std::filesystem::path& path) {
    std::ifstream file(path);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  std::ptrdiff_t FilesInFolder() const {
    return std::distance(std::filesystem::directory_iterator(folder_), {});
  }

  std::filesystem::path folder_;
};

TEST_F(WriteFile, ReplacesWhatWasThere) {
  const auto path = folder_ / "result.json";
  ASSERT_TRUE(WriteFileWhole(path, "first"));
  ASSERT_TRUE(WriteFileWhole(path, "second"));
  EXPECT_EQ(TextOf(path), "second");
  EXPECT_EQ(FilesInFolder(), 1);
}

TEST_F(WriteFile, AFailureNamesTheFileAndLeavesNoPart) {
  const auto path = folder_ / "report.html";
  std::filesystem::create_directory(path);  // a folder cannot be renamed over
  auto written = WriteFileWhole(path, "text");
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().where, path.string());
  EXPECT_EQ(FilesInFolder(), 1);
}

TEST_F(WriteFile, MakesTheFolderThatIsMissing) {
  const auto wanted = folder_ / "a" / "b";
  ASSERT_TRUE(PrepareFolder(wanted, "--into"));
  EXPECT_TRUE(std::filesystem::is_directory(wanted));
  EXPECT_TRUE(std::filesystem::is_empty(wanted));
}

TEST_F(WriteFile, RefusesAFolderBelowAFile) {
  ASSERT_TRUE(WriteFileWhole(folder_ / "file", "text"));
  auto prepared = PrepareFolder(folder_ / "file" / "below", "--into");
  ASSERT_FALSE(prepared);
  EXPECT_EQ(prepared.error().kind, base::ErrorKind::kInvalid);
  EXPECT_THAT(prepared.error().detail, testing::HasSubstr("--into"));
}

}  // namespace
}  // namespace cli
