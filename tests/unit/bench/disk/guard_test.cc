// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/guard.h"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <limits>
#include <string>

#include <gtest/gtest.h>

namespace {

constexpr std::int64_t kGiB = std::int64_t{1} << 30;

TEST(GuardBytes, IsTwoGibibytesOrATwentieth) {
  EXPECT_EQ(bench::GuardBytes(0), 2 * kGiB);
  EXPECT_EQ(bench::GuardBytes(20 * kGiB), 2 * kGiB);
  EXPECT_EQ(bench::GuardBytes(40 * kGiB), 2 * kGiB);
  EXPECT_EQ(bench::GuardBytes(400 * kGiB), 20 * kGiB);
}

TEST(Room, IsWhatIsFreeAboveTheGuard) {
  EXPECT_EQ((bench::Room{400 * kGiB, 50 * kGiB}.usable_bytes()), 30 * kGiB);
  EXPECT_EQ((bench::Room{400 * kGiB, 5 * kGiB}.usable_bytes()), 0);
}

class CheckRoomTest : public testing::Test {
 protected:
  CheckRoomTest() {
    std::string name = testing::TempDir() + "rigproof_room_XXXXXX";
    folder_ = mkdtemp(name.data());
  }
  ~CheckRoomTest() override { std::filesystem::remove_all(folder_); }

  std::filesystem::path folder_;
};

TEST_F(CheckRoomTest, LeavesNothingInTheFolder) {
  EXPECT_TRUE(bench::CheckRoom(folder_, 0));
  EXPECT_TRUE(std::filesystem::is_empty(folder_));
}

TEST_F(CheckRoomTest, NamesAMissingFolder) {
  const auto status = bench::CheckRoom(folder_ / "none", 1);
  ASSERT_FALSE(status);
  EXPECT_EQ(status.error().kind, base::ErrorKind::kNotPresent);
  EXPECT_EQ(status.error().where, (folder_ / "none").string());
}

TEST_F(CheckRoomTest, RefusesAFileForAFolder) {
  std::ofstream(folder_ / "file") << "x";
  const auto status = bench::CheckRoom(folder_ / "file", 1);
  ASSERT_FALSE(status);
  EXPECT_EQ(status.error().kind, base::ErrorKind::kInvalid);
  EXPECT_EQ(status.error().detail, "not a folder");
}

TEST_F(CheckRoomTest, SaysHowMuchIsNeededAndFree) {
  const auto status = bench::CheckRoom(folder_, std::numeric_limits<std::int64_t>::max());
  ASSERT_FALSE(status);
  EXPECT_EQ(status.error().kind, base::ErrorKind::kIo);
  EXPECT_NE(status.error().detail.find("9223 PB are needed, but only "), std::string::npos)
      << status.error().detail;
  EXPECT_NE(status.error().detail.find("must stay free"), std::string::npos);
}

// /proc takes no files from anyone, root included.
TEST(CheckRoomReadOnly, RefusesAFolderThatTakesNoFiles) {
  EXPECT_FALSE(bench::CheckRoom("/proc", 0));
}

}  // namespace
