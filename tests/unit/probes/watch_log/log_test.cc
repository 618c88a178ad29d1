// SPDX-License-Identifier: Apache-2.0
//
// Logs as they were written, cut, damaged, and with their clocks.

#include "probes/watch_log/log.h"

#include <algorithm>
#include <cmath>
#include <sstream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/watch_log/encoder.h"
#include "probes/watch_log/fields.h"
#include "probes/watch_log/parts.h"
#include "tests/support/usb_made_machine.h"
#include "tests/support/watch_made_samples.h"

namespace {

using probes::WatchEncoder;
using probes::WatchLog;
using probes::WatchSample;
using testing::DoubleNear;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Optional;
using testing::SizeIs;

/// A part with blocks of ten samples, numbers `from` to `to`.
std::string Part(int number, int from, int to) {
  WatchEncoder encoder;
  std::string bytes;
  encoder.Begin(tests::MadeHead(), number, bytes);
  for (int k = from; k <= to; k += 10) {
    std::vector<WatchSample> second;
    for (int i = k; i <= std::min(k + 9, to); ++i) {
      second.push_back(tests::MadeSample(i));
    }
    encoder.Samples(second, tests::MadeDevices(), bytes);
  }
  return bytes;
}

class WatchLogFiles : public testing::Test {
 protected:
  void Put(int part, const std::string& bytes) {
    made_.File("log/" + probes::WatchPartName(part), bytes);
  }
  WatchLog Read(const probes::WatchRange& range = {}) {
    auto log = probes::ReadWatchLog(made_.folder() / "log", range);
    EXPECT_TRUE(log) << log.error().where << " " << log.error().detail;
    return log ? *log : WatchLog();
  }

  tests::UsbMadeMachine made_;
};

TEST_F(WatchLogFiles, EverySampleComesBackAsItWas) {
  Put(1, Part(1, 1, 35));
  const WatchLog log = Read();
  ASSERT_THAT(log.samples, SizeIs(35));
  for (int k = 1; k <= 35; ++k) {
    const WatchSample& read = log.samples[static_cast<std::size_t>(k - 1)];
    const WatchSample made = tests::MadeSample(k);
    EXPECT_DOUBLE_EQ(read.pc.at_s, made.pc.at_s);
    EXPECT_NEAR(read.seconds, 0.1, 1e-6);
    EXPECT_EQ(read.wall_ns, made.wall_ns);
    for (const auto& field : probes::WatchSampleFields()) {
      const auto value = field.get(made);
      ASSERT_EQ(field.get(read).has_value(), value.has_value()) << field.name;
      if (value) {
        EXPECT_NEAR(*field.get(read), *value, 0.5 / field.steps + 1e-9) << field.name << " " << k;
      }
    }
    EXPECT_EQ(read.pc.core_busy_percent, made.pc.core_busy_percent);
    EXPECT_EQ(read.pc.hot_thread, made.pc.hot_thread);
    EXPECT_EQ(read.pc.top_other, "scanner");
    EXPECT_EQ(read.pc.top_other_pid, 77);
    EXPECT_TRUE(read.program_runs);
    EXPECT_EQ(read.recording_disk, made.recording_disk);
    ASSERT_THAT(read.disks, SizeIs(2));
    EXPECT_EQ(read.disks[0].write_bytes_per_second, made.disks[0].write_bytes_per_second);
    EXPECT_EQ(read.disks[0].write_ms, made.disks[0].write_ms);
    EXPECT_FALSE(read.disks[0].read_ms);
    EXPECT_EQ(read.disks[1].read_ms, made.disks[1].read_ms);
    ASSERT_THAT(read.links, SizeIs(1));
    EXPECT_EQ(read.links[0].drops_per_second, 0.5);
    EXPECT_THAT(read.engines, SizeIs(k % 10 == 0 ? 1 : 0));
  }
}

TEST_F(WatchLogFiles, TheHeadComesBack) {
  Put(1, Part(1, 1, 10));
  const WatchLog log = Read();
  const probes::WatchHead made = tests::MadeHead();
  EXPECT_EQ(log.head.began_at, made.began_at);
  EXPECT_EQ(log.head.zero_ns, made.zero_ns);
  EXPECT_EQ(log.head.zero_wall_ns, made.zero_wall_ns);
  EXPECT_EQ(log.head.hz, 10);
  EXPECT_EQ(log.head.cpus, 2);
  EXPECT_EQ(log.head.memory_bytes, 8e9);
  EXPECT_EQ(log.head.cpu_model, "Invented CPU");
  EXPECT_THAT(log.head.virtual_pc, Optional(true));
  EXPECT_EQ(log.head.program, "mixer");
  EXPECT_THAT(log.disks, SizeIs(2));
  EXPECT_THAT(log.disks[0].spinning, Optional(true));
  EXPECT_FALSE(log.disks[1].spinning);
  EXPECT_THAT(log.links, ElementsAre("eth0"));
  ASSERT_THAT(log.engines, SizeIs(1));
  EXPECT_EQ(log.engines[0].device, "0000:00:02.0");
  EXPECT_THAT(log.ended, IsEmpty());
  EXPECT_EQ(log.damaged_bytes, 0);
}

TEST_F(WatchLogFiles, WhatStandsBesideSamplesComesBack) {
  WatchEncoder encoder;
  std::string bytes;
  encoder.Begin(tests::MadeHead(), 1, bytes);
  encoder.Processes({1, 4, {{"mixer", 12, 1.5, true}, {"scanner", 77, 0.25, false}}}, bytes);
  WatchEncoder::Program({2, "mixer", 12, true, 1.5}, bytes);
  WatchEncoder::KernelLine({3, "usb 1-1: USB disconnect", "usb-errors", "gone", "fatal", "hub.c"},
                           bytes);
  WatchEncoder::KernelLines(base::Reading<std::int64_t>::Unknown("not allowed"), bytes);
  WatchEncoder::NotRead("this: that", bytes);
  WatchEncoder::NotRead("this: that", bytes);
  WatchEncoder::End(5, "as asked", bytes);
  Put(1, bytes);
  const WatchLog log = Read();
  ASSERT_THAT(log.processes, SizeIs(1));
  ASSERT_THAT(log.processes[0].busiest, SizeIs(2));
  EXPECT_EQ(log.processes[0].busiest[0].name, "mixer");
  EXPECT_EQ(log.processes[0].busiest[1].pid, 77);
  EXPECT_EQ(log.processes[0].busiest[1].cpus, 0.25);
  ASSERT_THAT(log.programs, SizeIs(1));
  EXPECT_EQ(log.programs[0].name, "mixer");
  EXPECT_THAT(log.programs[0].usable_cpus, Optional(1.5));
  ASSERT_THAT(log.kernel_lines, SizeIs(1));
  EXPECT_EQ(log.kernel_lines[0].cause, "usb-errors");
  EXPECT_EQ(log.kernel_lines[0].at_s, 3);
  EXPECT_EQ(log.kernel_lines_read.why_unknown(), "not allowed");
  EXPECT_THAT(log.not_read, ElementsAre("this: that"));
  EXPECT_EQ(log.ended, "as asked");
  const auto record = probes::RecordOfWatch(log);
  ASSERT_THAT(record.others, SizeIs(1));
  EXPECT_EQ(record.others[0].name, "scanner");
  EXPECT_NEAR(record.others[0].cpu_seconds, 0.75, 1e-9);
}

TEST_F(WatchLogFiles, ATailCutAtAnyByteLosesTheLastSecondOnly) {
  const std::string first = Part(1, 1, 10);
  const std::string whole = Part(1, 1, 20);
  ASSERT_TRUE(whole.starts_with(first));
  for (std::size_t size = first.size(); size < whole.size(); ++size) {
    Put(1, whole.substr(0, size));
    ASSERT_THAT(Read().samples, SizeIs(10)) << size;
  }
}

TEST_F(WatchLogFiles, AFlippedBitNeverGivesOtherSamples) {
  const std::string whole = Part(1, 1, 20);
  for (std::size_t bit = 0; bit < whole.size() * 8; bit += 97) {
    std::string bytes = whole;
    bytes[bit / 8] = static_cast<char>(bytes[bit / 8] ^ (1 << (bit % 8)));
    Put(1, bytes);
    const auto log = probes::ReadWatchLog(made_.folder() / "log");
    if (!log) {
      continue;  // the head itself
    }
    EXPECT_GT(log->damaged_bytes, 0);
    for (const WatchSample& sample : log->samples) {
      const int k = static_cast<int>(std::lround(sample.pc.at_s * 10));
      EXPECT_EQ(sample.wall_ns, tests::MadeSample(k).wall_ns);
      EXPECT_EQ(sample.pc.core_busy_percent, tests::MadeSample(k).pc.core_busy_percent);
    }
  }
}

TEST_F(WatchLogFiles, PartsFollowOneAnotherAndAMissingOneIsAHole) {
  Put(2, Part(2, 1, 10));
  Put(3, Part(3, 11, 20));
  Put(5, Part(5, 31, 40));
  const WatchLog log = Read();
  ASSERT_THAT(log.samples, SizeIs(30));
  EXPECT_NEAR(log.begins_s, 0, 1e-6);
  EXPECT_EQ(log.ends_s, 4);
  EXPECT_NEAR(log.samples[20].seconds, 0.1, 1e-6);  // not the hole before it
  EXPECT_THAT(log.disks, SizeIs(2));
}

TEST_F(WatchLogFiles, OnePartIsALogToo) {
  Put(2, Part(2, 11, 20));
  const auto log = probes::ReadWatchLog(made_.folder() / "log" / probes::WatchPartName(2));
  ASSERT_TRUE(log);
  EXPECT_THAT(log->samples, SizeIs(10));
}

TEST_F(WatchLogFiles, ARangeGivesItsSamplesAndTheClocksOfAll) {
  Put(1, Part(1, 1, 100));
  const WatchLog log = Read({4.05, 5.05, 1000});
  ASSERT_THAT(log.samples, SizeIs(10));
  EXPECT_NEAR(log.samples.front().pc.at_s, 4.1, 1e-9);
  EXPECT_NEAR(log.samples.front().pc.io_pressure_percent.value_or(-1), 12.5, 1e-9);
  EXPECT_EQ(log.ends_s, 10);
  EXPECT_THAT(probes::LogTimesOfWall(log, tests::kMadeWallNs + 9'000'000'000),
              ElementsAre(DoubleNear(9, 1e-6)));
}

TEST_F(WatchLogFiles, TooManySamplesArePutTogether) {
  Put(1, Part(1, 1, 100));
  const WatchLog log = Read({-1, 100, 30});
  EXPECT_THAT(log.samples, SizeIs(25));
  EXPECT_NEAR(log.samples[0].seconds, 0.4, 1e-6);
  EXPECT_NEAR(log.samples[0].pc.at_s, 0.4, 1e-9);
  EXPECT_THAT(log.samples[0].pc.throttle_events, Optional(1 + 2 + 3 + 4));
  EXPECT_NEAR(log.samples[0].disks[0].write_bytes_per_second, 2.5e6, 1e3);
  EXPECT_NEAR(log.sample_seconds, 0.4, 1e-6);
}

TEST_F(WatchLogFiles, WhatIsNoLogIsRefused) {
  EXPECT_EQ(probes::ReadWatchLog(made_.folder() / "none").error().kind,
            base::ErrorKind::kNotPresent);
  made_.Folder("empty");
  EXPECT_EQ(probes::ReadWatchLog(made_.folder() / "empty").error().kind,
            base::ErrorKind::kMalformed);
  made_.File("text", "some text\n");
  EXPECT_EQ(probes::ReadWatchLog(made_.folder() / "text").error().kind,
            base::ErrorKind::kMalformed);
  std::string payload;
  probes::PutText(payload, "rigproof-log");
  probes::PutNumber(payload, 2);
  std::string later;
  PutRecord(later, probes::WatchRecordKind::kHead, payload);
  made_.File("later", later);
  const auto refused = probes::ReadWatchLog(made_.folder() / "later");
  EXPECT_EQ(refused.error().kind, base::ErrorKind::kInvalid);
  EXPECT_THAT(refused.error().detail, HasSubstr("version 2"));
}

TEST_F(WatchLogFiles, UnknownRecordsAndColumnsArePassedOver) {
  std::string bytes = Part(1, 1, 10);
  std::string payload;
  probes::PutNumber(payload, 1);  // a sample
  for (const int field : {probes::kWatchTime, 9000}) {
    probes::PutNumber(payload, static_cast<std::uint64_t>(field));
    probes::PutNumber(payload, 0);
    std::string data(1, '\1');
    probes::PutSigned(data, 5'000'000);
    probes::PutText(payload, data);
  }
  PutRecord(bytes, probes::WatchRecordKind::kSamples, payload);
  PutRecord(bytes, static_cast<probes::WatchRecordKind>(200), "from later");
  Put(1, bytes);
  const WatchLog log = Read();
  EXPECT_THAT(log.samples, SizeIs(11));
  EXPECT_EQ(log.ends_s, 5);
  EXPECT_EQ(log.damaged_bytes, 0);
}

TEST_F(WatchLogFiles, AStepBackShowsAMomentTwice) {
  WatchEncoder encoder;
  std::string bytes;
  encoder.Begin(tests::MadeHead(), 1, bytes);
  for (int k = 1; k <= 40; ++k) {
    WatchSample sample = tests::MadeSample(k);
    sample.wall_ns -= k > 20 ? 1'000'000'000 : 0;
    encoder.Samples(std::vector<WatchSample>{sample}, tests::MadeDevices(), bytes);
  }
  Put(1, bytes);
  const WatchLog log = Read();
  ASSERT_THAT(log.clock_steps, SizeIs(1));
  EXPECT_NEAR(log.clock_steps[0].step_ms, -1000, 1e-3);
  EXPECT_NEAR(log.clock_steps[0].at_s, 2.1, 1e-9);
  const std::int64_t second = 1'000'000'000;
  EXPECT_THAT(probes::LogTimesOfWall(log, tests::kMadeWallNs + second * 3 / 2),
              ElementsAre(DoubleNear(1.5, 1e-6), DoubleNear(2.5, 1e-6)));
  EXPECT_THAT(probes::LogTimesOfWall(log, tests::kMadeWallNs + second / 2),
              ElementsAre(DoubleNear(0.5, 1e-6)));
  EXPECT_THAT(probes::LogTimesOfWall(log, tests::kMadeWallNs + second * 9), IsEmpty());
  EXPECT_EQ(probes::WallOfLogTime(log, 3), tests::kMadeWallNs + 2 * second);
  EXPECT_EQ(probes::WallOfLogTime(log, 1), tests::kMadeWallNs + second);
}

TEST_F(WatchLogFiles, ADiskOfOnesOwnIsPutIntoTheRecord) {
  Put(1, Part(1, 1, 10));
  const WatchLog log = Read();
  EXPECT_FALSE(probes::RecordOfWatch(log).samples[0].disk_write_bytes_per_second);
  const auto record = probes::RecordOfWatch(log, "sda");
  ASSERT_THAT(record.samples, SizeIs(10));
  EXPECT_THAT(record.samples[2].disk_write_bytes_per_second, Optional(3e6));
  EXPECT_THAT(record.samples[2].disk_write_ms, Optional(2.25));
  EXPECT_EQ(record.zero_ns, tests::MadeHead().zero_ns);
}

}  // namespace
