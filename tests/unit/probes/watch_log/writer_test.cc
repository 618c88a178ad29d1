// SPDX-License-Identifier: Apache-2.0
//
// Logs as the writer leaves them.

#include "probes/watch_log/writer.h"

#include <cstdint>
#include <filesystem>
#include <fstream>
#include <memory>
#include <string>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/watch_log/log.h"
#include "probes/watch_log/parts.h"
#include "tests/support/usb_made_machine.h"
#include "tests/support/watch_made_samples.h"

namespace {

using probes::WatchLogWriter;
using testing::HasSubstr;
using testing::SizeIs;

class Writer : public testing::Test {
 protected:
  std::unique_ptr<WatchLogWriter> Create(const probes::WatchLogLimits& limits = {}) {
    auto writer = WatchLogWriter::Create(folder(), tests::MadeHead(), limits);
    EXPECT_TRUE(writer) << writer.error().detail;
    return writer ? *std::move(writer) : nullptr;
  }
  std::filesystem::path folder() const { return made_.folder() / "log"; }

  tests::UsbMadeMachine made_;
};

TEST_F(Writer, WhatWasAddedIsRead) {
  auto writer = Create();
  writer->AddNotRead("this: that");
  writer->Add(probes::WatchProgram{0.5, "mixer", 12, true, 2});
  for (int k = 1; k <= 25; ++k) {
    writer->Add(tests::MadeSample(k), tests::MadeDevices());
    if (k == 15) {
      writer->Add(probes::WatchProcesses{0, 1.5, {{"mixer", 12, 1.5, true}}});
    }
  }
  writer->Finish(2.5, "as asked");
  EXPECT_FALSE(writer->Failure());
  const auto log = probes::ReadWatchLog(folder());
  ASSERT_TRUE(log);
  EXPECT_THAT(log->samples, SizeIs(25));
  EXPECT_THAT(log->processes, SizeIs(1));
  EXPECT_THAT(log->programs, SizeIs(1));
  EXPECT_THAT(log->not_read, SizeIs(1));
  EXPECT_EQ(log->ended, "as asked");
  EXPECT_EQ(log->damaged_bytes, 0);
  EXPECT_EQ(writer->bytes_written(), probes::ListWatchParts(folder()).at(0).bytes);
}

TEST_F(Writer, NeverOverALogThatIsThere) {
  Create()->Finish(0, "as asked");
  const auto again = WatchLogWriter::Create(folder(), tests::MadeHead(), {});
  ASSERT_FALSE(again);
  EXPECT_EQ(again.error().kind, base::ErrorKind::kInvalid);
  EXPECT_THAT(again.error().detail, HasSubstr("never written over"));
}

TEST_F(Writer, NotOnAFileAndNotBelowOne) {
  made_.File("log", "x");
  EXPECT_FALSE(WatchLogWriter::Create(folder(), tests::MadeHead(), {}));
  EXPECT_FALSE(WatchLogWriter::Create(folder() / "below", tests::MadeHead(), {}));
  std::ifstream file(folder());
  EXPECT_EQ(file.get(), 'x');
}

TEST_F(Writer, TheOldestPartsGoWhenTheLogIsFull) {
  // Noise in all columns, so that parts fill in few samples.
  probes::WatchLogLimits limits;
  limits.most_bytes = 200'000;
  auto writer = Create(limits);
  std::uint64_t noise = 1;
  int k = 0;
  // Three times what fits; a second at a time, so that the thread is never far behind.
  for (int second = 0; writer->bytes_written() < 3 * limits.most_bytes && second < 20'000;
       ++second) {
    for (int i = 0; i < 10; ++i) {
      probes::WatchSample sample = tests::MadeSample(++k);
      sample.pc.core_busy_percent.assign(64, 0);
      for (int& core : sample.pc.core_busy_percent) {
        noise = noise * 6364136223846793005U + 1442695040888963407U;
        core = static_cast<int>(noise >> 33U) % 101;
      }
      writer->Add(sample, tests::MadeDevices());
    }
    while (writer->waiting() > 50) {
      std::this_thread::yield();
    }
  }
  writer->Finish(k / 10.0, "as asked");
  EXPECT_FALSE(writer->Failure());
  EXPECT_EQ(writer->seconds_lost(), 0);
  std::int64_t bytes = 0;
  for (const auto& part : probes::ListWatchParts(folder())) {
    bytes += part.bytes;
  }
  EXPECT_LE(bytes, limits.most_bytes);
  EXPECT_GT(bytes, limits.most_bytes / 2);
  const auto log = probes::ReadWatchLog(folder());
  ASSERT_TRUE(log);
  EXPECT_EQ(log->damaged_bytes, 0);
  EXPECT_GT(log->begins_s, 0.1);
  EXPECT_NEAR(log->ends_s, k / 10.0, 1e-6);
  EXPECT_EQ(log->ended, "as asked");
  // What is left has no hole.
  EXPECT_NEAR(static_cast<double>(log->samples.size()), (log->ends_s - log->begins_s) * 10, 1);
}

TEST_F(Writer, ADiskWithoutRoomIsLeftAlone) {
  probes::WatchLogLimits limits;
  limits.guard_bytes = INT64_MAX;  // a twentieth of the disk then
  auto writer = WatchLogWriter::Create(folder(), tests::MadeHead(), limits);
  const auto space = std::filesystem::space(made_.folder());
  if (space.available < space.capacity / 20) {
    EXPECT_FALSE(writer);
  } else {
    EXPECT_TRUE(writer);
  }
}

}  // namespace
