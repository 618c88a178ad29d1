// SPDX-License-Identifier: Apache-2.0
//
// The disk run against fio (direct, in order, 1 MiB blocks, same size, the file
// growing as it is written), taking
// turns so that both see the same machine.

#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "base/stats/percentile.h"
#include "base/system/subprocess.h"
#include "bench/disk/guard.h"
#include "bench/disk/run.h"

namespace {

constexpr std::int64_t kMebibytes = 256;
constexpr int kTurns = 9;

/// fio's rate in bytes a second with a flush before its last block, so that
/// the flush is in its time as it is in ours; nothing when it did not run.
std::optional<double> FioRate(const std::filesystem::path& folder) {
  base::Command command;
  command.argv = {"fio",
                  "--name=sequential",
                  "--directory=" + folder.string(),
                  "--filename=.fio-compare",
                  "--direct=1",
                  "--rw=write",
                  "--bs=1M",
                  "--ioengine=psync",
                  "--size=" + std::to_string(kMebibytes) + "M",
                  "--fallocate=none",
                  "--fdatasync=" + std::to_string(kMebibytes - 1),
                  "--unlink=1",
                  "--output-format=json"};
  const auto finished = base::RunProgram(command);
  std::error_code code;
  std::filesystem::remove(folder / ".fio-compare", code);
  if (!finished || !finished->ok()) {
    return std::nullopt;
  }
  const auto json = nlohmann::json::parse(finished->out, nullptr, false);
  if (json.is_discarded()) {
    return std::nullopt;
  }
  const auto& write = json.at("jobs").at(0).at("write");
  return write.at("io_bytes").get<double>() / (write.at("runtime").get<double>() / 1000);
}

TEST(DiskRunAgainstFio, WritesAsFastWithinAQuarter) {
  const std::filesystem::path folder = std::filesystem::current_path();
  if (!bench::CheckRoom(folder, 2 * (kMebibytes << 20))) {
    GTEST_SKIP() << "no room for the comparison in " << folder;
  }
  bench::DiskRunOptions options;
  options.folder = folder;
  options.seconds = 60;
  options.largest_bytes = kMebibytes << 20;
  std::vector<double> ratios;
  for (int turn = 0; turn < kTurns; ++turn) {
    const auto theirs = FioRate(folder);
    if (!theirs) {
      GTEST_SKIP() << "fio is missing, or takes no direct writes in " << folder
                   << ": nothing to compare with";
    }
    const auto run = bench::MeasureDisk(options);
    ASSERT_EQ(run.stopped_because, "");
    ASSERT_EQ(run.bytes, options.largest_bytes);
    ratios.push_back(static_cast<double>(run.bytes) / run.seconds / *theirs);
  }
  const double median = base::Percentile(ratios, 50);
  RecordProperty("ratio_to_fio", std::to_string(median));
  std::printf("rate over fio's, median of %d turns: %.3f\n", kTurns, median);
  // Wide: a shared machine. bench/RESULTS.md holds the comparison that counts.
  EXPECT_GT(median, 0.5);
  EXPECT_LT(median, 2.0);
}

}  // namespace
