// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/run.h"

#include <sys/resource.h>

#include <cstdlib>
#include <filesystem>
#include <stop_token>
#include <string>

#include <gtest/gtest.h>

namespace {

class MeasureDiskTest : public testing::Test {
 protected:
  MeasureDiskTest() {
    std::string name = testing::TempDir() + "rigproof_run_XXXXXX";
    options_.folder = mkdtemp(name.data());
    options_.seconds = 60;
    options_.largest_bytes = 2 << 20;
    options_.block_bytes = 100'000;  // rounded up to 25 pages
  }
  ~MeasureDiskTest() override { std::filesystem::remove_all(options_.folder); }

  bench::DiskRunOptions options_;
};

TEST_F(MeasureDiskTest, WritesWholeBlocksUpToTheLargestSizeAndLeavesNothing) {
  const auto run = bench::MeasureDisk(options_);
  EXPECT_EQ(run.stopped_because, "");
  EXPECT_EQ(run.bytes, (2 << 20) / 102'400 * 102'400);
  EXPECT_GT(run.seconds, 0);
  EXPECT_GT(run.sustained_bytes_per_second, 0);
  EXPECT_NE(run.method.find("100 KiB blocks"), std::string::npos) << run.method;
  EXPECT_TRUE(std::filesystem::is_empty(options_.folder));
}

TEST_F(MeasureDiskTest, EndsOnRequestWithWhatItHas) {
  std::stop_source source;
  source.request_stop();
  const auto run = bench::MeasureDisk(options_, source.get_token());
  EXPECT_EQ(run.stopped_because, "stopped on request");
  EXPECT_TRUE(std::filesystem::is_empty(options_.folder));
}

TEST_F(MeasureDiskTest, NamesAFolderThatIsMissing) {
  options_.folder /= "none";
  const auto run = bench::MeasureDisk(options_);
  EXPECT_EQ(run.stopped_because, "the folder does not exist");
  EXPECT_EQ(run.bytes, 0);
  options_.folder = options_.folder.parent_path();
}

TEST_F(MeasureDiskTest, EndsCleanlyWhenNoMoreFits) {
  const auto limited = [&] {
    const rlimit limit = {500'000, 500'000};
    if (setrlimit(RLIMIT_FSIZE, &limit) != 0) {
      return 1;
    }
    const auto run = bench::MeasureDisk(options_);
    const bool told = run.stopped_because == "the file has reached the largest size allowed here";
    return told && run.bytes >= 409'600 && run.bytes <= 500'000 &&
                   std::filesystem::is_empty(options_.folder)
               ? 7
               : 2;
  };
  EXPECT_EXIT(std::_Exit(limited()), testing::ExitedWithCode(7), "");
}

}  // namespace
