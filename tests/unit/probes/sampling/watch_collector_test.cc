// SPDX-License-Identifier: Apache-2.0
//
// Samples of made machines.

#include "probes/sampling/watch_collector.h"

#include <optional>
#include <string>

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/usb_made_machine.h"

namespace {

using probes::TimeMoment;
using probes::WatchCollector;
using probes::WatchSample;
using testing::Contains;
using testing::DoubleNear;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Optional;
using testing::SizeIs;

constexpr std::int64_t kSecond = 1'000'000'000;

class Collector : public testing::Test {
 protected:
  Collector() {
    SetStat(0, 0);
    SetProcess(1, "init", 0, 0);
    SetProcess(40, "rigproof-watch", 1, 0);
  }

  void SetStat(int user, int idle) {
    made_.File(
        "proc/stat",
        fmt::format("cpu  {0} 0 0 {1} 0 0 0 0 0 0\ncpu0 {0} 0 0 {1} 0 0 0 0 0 0\n", user, idle));
  }
  /// Fields of proc_pid_stat(5).
  void SetProcess(int pid, const std::string& name, int parent, int user, char state = 'S') {
    made_.File("proc/" + std::to_string(pid) + "/stat",
               fmt::format("{} ({}) {} {} 1 1 0 -1 0 0 0 0 0 {} 0 0 0 20 0 1 0 {} 0 0", pid, name,
                           state, parent, user, pid * 10));
  }
  probes::WatchRequest Request(const std::string& program, double hz = 1) {
    probes::WatchRequest request;
    request.program = program;
    request.hz = hz;
    request.own_pid = 40;
    return request;
  }
  static TimeMoment At(double seconds, double wall_ahead = 1000, double slept = 0) {
    const auto now = static_cast<std::int64_t>(seconds * 1e9);
    return {now, now + static_cast<std::int64_t>((wall_ahead + slept) * 1e9),
            now + static_cast<std::int64_t>(slept * 1e9)};
  }

  tests::UsbMadeMachine made_;
};

TEST_F(Collector, TheProgramByNameIsOurs) {
  SetProcess(50, "mixer", 1, 100);
  SetProcess(51, "mixer-part", 50, 10);
  SetProcess(60, "scanner", 1, 0);
  WatchCollector collector(made_.root(), Request("mixer"));
  EXPECT_FALSE(collector.Sample(At(1)));
  EXPECT_EQ(collector.program().pid(), 50);
  SetStat(80, 20);
  SetProcess(50, "mixer", 1, 150);
  SetProcess(51, "mixer-part", 50, 30, 'T');
  const auto sample = collector.Sample(At(2));
  ASSERT_TRUE(sample);
  EXPECT_THAT(sample->pc.own_cpus, Optional(DoubleNear(0.7, 1e-9)));
  EXPECT_THAT(sample->pc.busy_cpus, Optional(DoubleNear(0.8, 1e-9)));
  EXPECT_TRUE(sample->program_runs);
  EXPECT_THAT(sample->stopped_percent, Optional(50.0));
  EXPECT_THAT(sample->seconds, DoubleNear(1, 1e-9));
  EXPECT_EQ(sample->wall_ns, 1002 * kSecond);
  const auto news = collector.TakeNews();
  ASSERT_THAT(news.programs, SizeIs(1));
  EXPECT_EQ(news.programs[0].name, "mixer");
  EXPECT_TRUE(news.programs[0].as_asked);
}

TEST_F(Collector, AProgramThatComesLaterAndGoes) {
  WatchCollector collector(made_.root(), Request("mixer"));
  collector.Sample(At(1));
  EXPECT_EQ(collector.program().pid(), 0);
  EXPECT_FALSE(collector.Sample(At(2))->program_runs);
  SetProcess(70, "mixer", 1, 5);
  collector.Sample(At(3));  // found after the counters were looked at
  collector.Sample(At(4));
  EXPECT_TRUE(collector.Sample(At(5))->program_runs);
  made_.Remove("proc/70");
  collector.Sample(At(6));
  collector.Sample(At(7));
  EXPECT_FALSE(collector.Sample(At(8))->program_runs);
  const auto news = collector.TakeNews();
  ASSERT_THAT(news.programs, SizeIs(2));
  EXPECT_EQ(news.programs[0].pid, 70);
  EXPECT_EQ(news.programs[1].pid, 0);
  EXPECT_EQ(news.programs[1].name, "");
}

TEST_F(Collector, ByNumberAndNeverItsSuccessor) {
  SetProcess(70, "mixer", 1, 5);
  WatchCollector collector(made_.root(), Request("70"));
  collector.Sample(At(1));
  EXPECT_EQ(collector.program().pid(), 70);
  made_.Remove("proc/70");
  collector.Sample(At(2));
  made_.File("proc/70/stat", "70 (other) S 1 1 1 0 -1 0 0 0 0 0 1 0 0 0 20 0 1 0 99999 0 0");
  collector.Sample(At(3));
  collector.Sample(At(4));
  EXPECT_EQ(collector.program().pid(), 0);
}

TEST_F(Collector, TheBusiestTreeStandsForItWhereNoneIsNamed) {
  SetProcess(2, "kthreadd", 0, 0);
  SetProcess(3, "kworker", 2, 0);
  SetProcess(50, "studio", 1, 0);
  SetProcess(51, "studio", 50, 0);
  SetProcess(60, "scanner", 1, 0);
  WatchCollector collector(made_.root(), Request("", 1));
  collector.Sample(At(0));
  int ticks = 0;
  for (int second = 1; second <= 8; ++second) {
    ticks += 50;
    SetProcess(3, "kworker", 2, ticks * 10);  // the kernel's threads are no program
    SetProcess(40, "rigproof-watch", 1, ticks * 9);
    SetProcess(51, "studio", 50, ticks);
    SetProcess(60, "scanner", 1, ticks / 2);
    SetStat(ticks * 3, 0);
    collector.Sample(At(second));
  }
  EXPECT_EQ(collector.program().pid(), 50);
  EXPECT_FALSE(collector.program().as_asked());
}

TEST_F(Collector, TheBusiestOtherIsNamed) {
  SetProcess(50, "mixer", 1, 0);
  SetProcess(60, "scanner", 1, 0);
  WatchCollector collector(made_.root(), Request("mixer", 1));
  collector.Sample(At(0));
  std::optional<WatchSample> sample;
  for (int second = 1; second <= 9; ++second) {
    SetProcess(60, "scanner", 1, 40 * second);
    SetStat(40 * second, 60 * second);
    sample = collector.Sample(At(second));
  }
  EXPECT_EQ(sample->pc.top_other, "scanner");
  EXPECT_EQ(sample->pc.top_other_pid, 60);
  EXPECT_THAT(sample->pc.top_other_cpus, DoubleNear(0.4, 1e-9));
  bool named = false;
  for (const auto& look : collector.TakeNews().processes) {
    for (const auto& share : look.busiest) {
      named = named || (share.name == "scanner" && !share.ours);
    }
  }
  EXPECT_TRUE(named);
}

TEST_F(Collector, EachDiskAndLinkByItself) {
  made_.Folder("sys/block/sda");
  made_.File("sys/block/sda/queue/rotational", "1\n");
  made_.Folder("sys/block/nvme0n1");
  made_.File("proc/diskstats",
             "8 0 sda 0 0 0 0 0 0 0 0 0 0 0\n8 1 sda1 0 0 0 0 0 0 0 0 0 0 0\n"
             "259 0 nvme0n1 0 0 0 0 0 0 0 0 0 0 0\n7 0 loop0 0 0 0 0 0 0 0 0 0 0 0\n");
  made_.File("proc/net/dev",
             "eth0: 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0\nwlan0: 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0\n");
  WatchCollector collector(made_.root(), Request(""));
  collector.Sample(At(0));
  // 1 MB written in 10 writes of 5 ms, half of the time busy, 2 in flight.
  made_.File("proc/diskstats",
             "8 0 sda 4 0 2000 40 10 0 2000 50 0 500 2000\n8 1 sda1 0 0 0 0 9 0 9 9 0 0 0\n"
             "259 0 nvme0n1 0 0 0 0 0 0 0 0 0 0 0\n7 0 loop0 9 9 9 9 9 9 9 9 9 9 9\n");
  made_.File(
      "proc/net/dev",
      "eth0: 5000 0 1 2 0 0 0 0 700 0 3 4 0 0 0 0\nwlan0: 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0\n");
  const auto sample = collector.Sample(At(1));
  ASSERT_THAT(collector.devices().disks, SizeIs(2));
  EXPECT_EQ(collector.devices().disks[0].name, "sda");
  EXPECT_THAT(collector.devices().disks[0].spinning, Optional(true));
  ASSERT_THAT(sample->disks, SizeIs(2));
  EXPECT_THAT(sample->disks[0].write_bytes_per_second, DoubleNear(1'024'000, 1e-6));
  EXPECT_THAT(sample->disks[0].write_ms, Optional(5.0));
  EXPECT_THAT(sample->disks[0].read_ms, Optional(10.0));
  EXPECT_THAT(sample->disks[0].busy_percent, DoubleNear(50, 1e-9));
  EXPECT_THAT(sample->disks[0].queue, DoubleNear(2, 1e-9));
  EXPECT_FALSE(sample->disks[1].write_ms);
  EXPECT_THAT(sample->pc.disk_write_ms, Optional(5.0));  // the one that was written most
  ASSERT_THAT(sample->links, SizeIs(1));                 // the other carried nothing
  EXPECT_EQ(collector.devices().links.at(sample->links[0].link), "eth0");
  EXPECT_EQ(sample->links[0].received_bytes_per_second, 5000);
  EXPECT_EQ(sample->links[0].sent_bytes_per_second, 700);
  EXPECT_EQ(sample->links[0].errors_per_second, 4);
  EXPECT_EQ(sample->links[0].drops_per_second, 6);
}

TEST_F(Collector, ProgramsFilesGrowAndTellTheirDisk) {
  SetProcess(50, "mixer", 1, 0);
  made_.Folder("sys/devices/made/block/sdb/sdb1");
  made_.File("sys/devices/made/block/sdb/sdb1/partition", "1\n");
  made_.Link("sys/dev/block/8:17", "sys/devices/made/block/sdb/sdb1");
  made_.Folder("sys/block/sdb");
  made_.File("proc/diskstats", "8 16 sdb 0 0 0 0 0 0 0 0 0 0 0\n");
  made_.File("proc/50/mountinfo", "29 1 8:17 / /media rw - ext4 /dev/sdb1 rw\n");
  made_.Link("proc/50/fd/3", "media/take.mkv");
  made_.Link("proc/50/fd/4", "media/clip.mkv");
  made_.Link("proc/50/fd/5", "dev/null");
  made_.File("proc/50/fdinfo/3", "pos:\t1000\nflags:\t0100001\nmnt_id:\t29\n");
  made_.File("proc/50/fdinfo/4", "pos:\t5\nflags:\t0100000\nmnt_id:\t29\n");
  made_.File("proc/50/fdinfo/5", "pos:\t5\nflags:\t0100001\nmnt_id:\t29\n");
  made_.File("proc/50/task/50/io", "wchar: 100\n");
  made_.File("proc/50/task/50/syscall", "running\n");
  WatchCollector collector(made_.root(), Request("mixer"));
  collector.Sample(At(0));
  std::optional<WatchSample> sample;
  for (int second = 1; second <= 5; ++second) {
    made_.File("proc/50/fdinfo/3",
               fmt::format("pos:\t{}\nflags:\t0100001\nmnt_id:\t29\n", 1000 + 300'000 * second));
    made_.File("proc/50/task/50/io", fmt::format("wchar: {}\n", 100 + 300'000 * second));
    made_.File("proc/50/task/50/syscall",
               second == 5 ? "1 0x3 0x0 0x0 0x0 0x0 0x0 0x0 0x0\n" : "running\n");
    made_.File("proc/50/fdinfo/4", fmt::format("pos:\t{}\nflags:\t0100000\n", 500'000 * second));
    sample = collector.Sample(At(second));
  }
  EXPECT_THAT(sample->recording_bytes_per_second, Optional(DoubleNear(300'000, 1e-6)));
  ASSERT_TRUE(sample->recording_disk);
  EXPECT_EQ(collector.devices().disks.at(*sample->recording_disk).name, "sdb");
  EXPECT_THAT(sample->pc.writers_asleep_percent, Optional(100.0));
}

TEST_F(Collector, TheProgramsOwnNetworkAndSockets) {
  SetProcess(50, "mixer", 1, 0);
  const auto set_again = [&](int ours, int programs) {
    made_.File("proc/net/snmp", fmt::format("Tcp: RetransSegs\nTcp: {}\n", ours));
    made_.File("proc/50/net/snmp", fmt::format("Tcp: RetransSegs\nTcp: {}\n", programs));
  };
  set_again(0, 0);
  std::filesystem::create_directories(made_.folder() / "proc/50/fd");
  std::filesystem::create_symlink("socket:[11]", made_.folder() / "proc/50/fd/6");
  made_.File("proc/50/net/tcp",
             "sl\n 1: 0100007F:1F90 0100007F:D431 01 00000020:00000000 01:00000014 0 0 0 11 1\n");
  WatchCollector collector(made_.root(), Request("mixer"));
  collector.Sample(At(0));
  collector.Sample(At(1));
  set_again(1000, 7);
  const auto sample = collector.Sample(At(2));
  EXPECT_THAT(sample->pc.retransmits_per_second, Optional(7.0));
  EXPECT_THAT(sample->pc.unsent_bytes, Optional(32.0));
}

TEST_F(Collector, AProgramPutUnderAQuotaLater) {
  SetProcess(50, "mixer", 1, 0);
  made_.File("proc/self/mountinfo", "30 1 0:5 / /cg rw - cgroup2 cgroup rw\n");
  made_.File("proc/50/cgroup", "0::/a\n");
  made_.File("cg/cpu.stat", "throttled_usec 0\n");
  made_.File("cg/a/cpu.stat", "nr_periods 0\nnr_throttled 0\nthrottled_usec 0\n");
  made_.File("cg/b/cpu.stat", "nr_periods 0\nnr_throttled 0\nthrottled_usec 0\n");
  made_.File("cg/b/cpu.max", "50000 100000\n");
  WatchCollector collector(made_.root(), Request("mixer"));
  collector.Sample(At(0));
  EXPECT_FALSE(collector.Sample(At(1))->pc.quota_cpus);
  made_.File("proc/50/cgroup", "0::/b\n");
  for (int second = 2; second <= 5; ++second) {
    collector.Sample(At(second));
  }
  made_.File("cg/b/cpu.stat", "nr_periods 10\nnr_throttled 5\nthrottled_usec 250000\n");
  const auto sample = collector.Sample(At(6));
  EXPECT_THAT(sample->pc.quota_cpus, Optional(0.5));
  EXPECT_THAT(sample->pc.quota_throttled_percent, Optional(50.0));
  EXPECT_THAT(sample->pc.quota_held_cpus, Optional(DoubleNear(0.25, 1e-9)));
}

TEST_F(Collector, EnginesOfGraphicsAdapters) {
  made_.Folder("sys/class/drm/renderD128");
  SetProcess(50, "mixer", 1, 0);
  SetProcess(60, "desktop", 1, 0);
  const auto set = [&](int pid, int fd, int client, long long ns) {
    const std::string folder = "proc/" + std::to_string(pid);
    if (!std::filesystem::is_symlink(made_.folder() / folder / "fd" / std::to_string(fd))) {
      made_.Link(folder + "/fd/" + std::to_string(fd), "dev/dri/renderD128");
    }
    made_.File(folder + "/fdinfo/" + std::to_string(fd),
               fmt::format("drm-driver: i915\ndrm-pdev: 0000:00:02.0\ndrm-client-id: {}\n"
                           "drm-engine-video: {} ns\ndrm-engine-capacity-video: 2\n",
                           client, ns));
  };
  set(50, 7, 1, 1000);
  set(50, 8, 1, 1000);  // the same client once more
  set(60, 7, 2, 0);
  WatchCollector collector(made_.root(), Request("mixer"));
  collector.Sample(At(0));
  for (int second = 1; second <= 14; ++second) {
    collector.Sample(At(second));
  }
  set(50, 7, 1, 1000 + 800'000'000);
  set(50, 8, 1, 1000 + 800'000'000);
  set(60, 7, 2, 400'000'000);
  const auto sample = collector.Sample(At(15));
  ASSERT_THAT(sample->engines, SizeIs(1));
  // 1.2 s of work in a second on two engines, 0.8 of it ours.
  EXPECT_THAT(sample->engines[0].busy_percent, DoubleNear(60, 1e-6));
  EXPECT_THAT(sample->engines[0].own_percent, DoubleNear(40, 1e-6));
  EXPECT_EQ(collector.devices().engines.at(0).name, "video");
  EXPECT_EQ(collector.devices().engines.at(0).device, "0000:00:02.0");
}

TEST_F(Collector, StepsOfTheClockAndSleep) {
  WatchCollector collector(made_.root(), Request(""));
  collector.Sample(At(0));
  EXPECT_THAT(collector.Sample(At(1))->pc.wall_clock_step_ms, Optional(DoubleNear(0, 1e-6)));
  EXPECT_THAT(collector.Sample(At(2, 1002.5))->pc.wall_clock_step_ms,
              Optional(DoubleNear(2500, 1e-6)));
  const auto slept = collector.Sample(At(3, 1002.5, 60));
  EXPECT_THAT(slept->slept_ms, Optional(DoubleNear(60'000, 1e-6)));
}

TEST_F(Collector, WhatCannotBeReadIsToldOnce) {
  WatchCollector collector(made_.root(), Request(""));
  collector.Sample(At(0));
  const auto first = collector.TakeNews().not_read;
  EXPECT_THAT(first, Contains(HasSubstr("/proc/pressure/cpu")));
  EXPECT_THAT(first, Contains(HasSubstr("encoder and decoder load")));
  collector.Sample(At(1));
  EXPECT_THAT(collector.TakeNews().not_read, IsEmpty());
}

}  // namespace
