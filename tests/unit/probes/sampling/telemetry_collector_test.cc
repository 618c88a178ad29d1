// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/telemetry_collector.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/sampling/telemetry_sampler.h"
#include "tests/support/usb_made_machine.h"

namespace {

using probes::CollectorRequest;
using probes::TelemetryCollector;
using testing::AllOf;
using testing::Contains;
using testing::DoubleNear;
using testing::Gt;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Le;
using testing::Lt;
using testing::Optional;
using testing::SizeIs;

constexpr std::int64_t kSecond = 1'000'000'000;

CollectorRequest OfProcess(int pid) {
  CollectorRequest request;
  request.own_pid = pid;
  request.ticks_per_second = 100;
  request.start_ns = 0;
  return request;
}

probes::TimeMoment At(std::int64_t now_ns, std::int64_t wall_ns = 0) {
  return {now_ns, wall_ns, now_ns};
}

/// Fields of proc_pid_stat(5).
std::string ProcessLine(int pid, const std::string& name, int parent, int user, int children) {
  return fmt::format("{} ({}) S {} 1 1 0 -1 0 0 0 0 0 {} 0 {} 0 20 0 1 0 {} 0 0", pid, name, parent,
                     user, children, pid * 10);
}

void SetStat(tests::UsbMadeMachine& machine, int user, int idle, int steal) {
  machine.File("proc/stat", fmt::format("cpu  {} 0 0 {} 0 0 0 {} 0 0\n", user, idle, steal));
}

void SetProcess(tests::UsbMadeMachine& machine, int pid, const std::string& name, int parent,
                int user, int children = 0) {
  machine.File("proc/" + std::to_string(pid) + "/stat",
               ProcessLine(pid, name, parent, user, children));
}

TEST(TelemetryCollector, TicksBecomeCpus) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 1000, 5000, 10);
  SetProcess(machine, 50, "rigproof", 1, 300);
  TelemetryCollector collector(machine.root(), OfProcess(50));
  collector.Sample(At(kSecond));
  // In two seconds at 100 ticks a second: 300 busy ticks are 1.5 CPUs, 100 of ours 0.5.
  SetStat(machine, 1300, 5060, 50);
  SetProcess(machine, 50, "rigproof", 1, 400);
  collector.Sample(At(3 * kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(1));
  EXPECT_THAT(record.samples[0].at_s, DoubleNear(3, 1e-9));
  EXPECT_THAT(record.samples[0].busy_cpus, Optional(DoubleNear(1.5, 1e-9)));
  EXPECT_THAT(record.samples[0].own_cpus, Optional(DoubleNear(0.5, 1e-9)));
  EXPECT_THAT(record.samples[0].steal_cpus, Optional(DoubleNear(0.2, 1e-9)));
}

TEST(TelemetryCollector, TellsTheKernelsWorkFromThatOfPrograms) {
  tests::UsbMadeMachine machine;
  machine.File("proc/stat", "cpu  1000 0 0 5000 0 10 20 0 0 0\n");
  SetProcess(machine, 2, "kthreadd", 0, 0);
  SetProcess(machine, 30, "kworker/0:1", 2, 100);
  SetProcess(machine, 50, "rigproof", 1, 300);
  SetProcess(machine, 60, "indexer", 1, 500);
  TelemetryCollector collector(machine.root(), OfProcess(50));
  collector.Sample(At(kSecond));
  machine.File("proc/stat", "cpu  1300 0 0 5060 0 20 30 0 0 0\n");
  SetProcess(machine, 30, "kworker/0:1", 2, 150);
  SetProcess(machine, 60, "indexer", 1, 560);
  collector.Sample(At(3 * kSecond));
  const auto record = collector.Finish();
  // 20 ticks of interrupts in two seconds at 100 ticks a second.
  EXPECT_THAT(record.samples[0].interrupt_cpus, Optional(DoubleNear(0.1, 1e-9)));
  EXPECT_THAT(record.kernel_cpu_seconds, Optional(DoubleNear(0.5, 1e-9)));
  EXPECT_THAT(record.watched_s, Optional(DoubleNear(2, 1e-9)));
  ASSERT_THAT(record.others, SizeIs(1));
  EXPECT_EQ(record.others[0].name, "indexer");
  EXPECT_THAT(record.others[0].cpu_seconds, DoubleNear(0.6, 1e-9));
}

TEST(TelemetryCollector, NumberTwoOfAContainerIsAProgram) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  SetProcess(machine, 2, "server", 1, 0);
  SetProcess(machine, 3, "worker", 2, 0);
  TelemetryCollector collector(machine.root(), OfProcess(50));
  collector.Sample(At(kSecond));
  SetProcess(machine, 3, "worker", 2, 100);
  collector.Sample(At(2 * kSecond));
  const auto record = collector.Finish();
  EXPECT_FALSE(record.kernel_cpu_seconds);
  ASSERT_THAT(record.others, SizeIs(1));
  EXPECT_EQ(record.others[0].name, "worker");
}

TEST(TelemetryCollector, ThePageThatStartedUsIsOursAndItsBrowserIsNot) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  SetProcess(machine, 40, "rigproof", 1, 100);
  SetProcess(machine, 41, "browser", 40, 100);
  SetProcess(machine, 50, "rigproof", 40, 100);
  CollectorRequest request = OfProcess(50);
  request.helper_pid = 40;
  TelemetryCollector collector(machine.root(), request);
  collector.Sample(At(kSecond));
  SetStat(machine, 200, 0, 0);
  SetProcess(machine, 40, "rigproof", 1, 120);
  SetProcess(machine, 41, "browser", 40, 180);
  SetProcess(machine, 50, "rigproof", 40, 200);
  collector.Sample(At(3 * kSecond));
  const auto record = collector.Finish();
  EXPECT_THAT(std::optional<double>(record.samples[0].own_cpus), Optional(DoubleNear(0.6, 1e-9)));
  ASSERT_THAT(record.others, SizeIs(1));
  EXPECT_EQ(record.others[0].name, "browser");
}

TEST(TelemetryCollector, WhatProcessesTakeOfDisksAndLinks) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  SetProcess(machine, 50, "rigproof", 1, 0);
  SetProcess(machine, 60, "backup", 1, 0);
  const auto set = [&machine](const std::string& pid, int read, int written, int taken_back) {
    machine.File("proc/" + pid + "/io",
                 fmt::format("rchar: 9\nwchar: 9\nsyscr: 9\nsyscw: 9\nread_bytes: {}\n"
                             "write_bytes: {}\ncancelled_write_bytes: {}\n",
                             read, written, taken_back));
  };
  const auto link = [](int received, int sent) {
    return fmt::format("  eth0: {} 1 0 0 0 0 0 0 {} 1 0 0 0 0 0 0\n", received, sent);
  };
  set("50", 0, 1000, 0);
  set("60", 500, 0, 0);
  machine.File("proc/net/dev", link(100, 100) + "    lo: 5 1 0 0 0 0 0 0 5 1 0 0 0 0 0 0\n");
  machine.File("proc/self/mountinfo", "1 0 8:1 / / rw - ext4 /dev/sda1 rw\n");
  machine.File("sys/devices/made/block/sda/sda1/partition", "1\n");
  machine.Link("sys/class/block/sda1", "sys/devices/made/block/sda/sda1");
  machine.Link("sys/class/block/sda", "sys/devices/made/block/sda");
  machine.File("proc/diskstats", "8 1 sda1 1 1 1 1 1 1 1000 1 0 1 1\n");
  CollectorRequest request = OfProcess(50);
  request.folder = "/clips";
  TelemetryCollector collector(machine.root(), request);
  collector.Sample(At(kSecond));
  set("50", 0, 5000, 0);
  set("60", 8500, 4000, 2000);
  machine.File("proc/net/dev", link(1100, 3100) + "    lo: 5 1 0 0 0 0 0 0 99 1 0 0 0 0 0 0\n");
  collector.Sample(At(3 * kSecond));
  const auto record = collector.Finish();
  EXPECT_THAT(record.samples[0].own_disk_bytes_per_second, Optional(2000.0));
  EXPECT_THAT(record.samples[0].network_bytes_per_second, Optional(2000.0));
  ASSERT_TRUE(record.disk_others);
  ASSERT_THAT(*record.disk_others, SizeIs(1));
  EXPECT_EQ(record.disk_others->front().name, "backup");
  EXPECT_EQ(record.disk_others->front().bytes, 10000.0);  // 8000 read, 4000 less 2000 written
}

TEST(TelemetryCollector, DisksOfProcessesThatCannotBeReadAreNotKnown) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  SetProcess(machine, 60, "backup", 1, 0);
  TelemetryCollector collector(machine.root(), OfProcess(50));
  collector.Sample(At(kSecond));
  collector.Sample(At(3 * kSecond));
  EXPECT_FALSE(collector.Finish().disk_others);
}

TEST(TelemetryCollector, CountersThatRunBackwardsAddNothing) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 1000, 5000, 100);
  TelemetryCollector collector(machine.root(), OfProcess(50));
  collector.Sample(At(kSecond));
  SetStat(machine, 900, 5000, 20);
  collector.Sample(At(2 * kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(1));
  EXPECT_EQ(record.samples[0].busy_cpus, 0);
  EXPECT_EQ(record.samples[0].steal_cpus, 0);
}

TEST(TelemetryCollector, WhatCannotBeReadIsAbsentAndTold) {
  tests::UsbMadeMachine machine;
  SetProcess(machine, 50, "rigproof", 1, 0);
  TelemetryCollector collector(machine.root(), OfProcess(50));
  collector.Sample(At(0));
  collector.Sample(At(kSecond));
  machine.Remove("proc/50/stat");
  SetStat(machine, 1000, 5000, 0);
  collector.Sample(At(2 * kSecond));
  SetStat(machine, 1100, 5100, 0);
  collector.Sample(At(3 * kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(3));
  EXPECT_FALSE(record.samples[0].busy_cpus);
  EXPECT_FALSE(record.samples[0].steal_cpus);
  EXPECT_THAT(record.samples[0].own_cpus, Optional(0.0));
  EXPECT_FALSE(record.samples[1].own_cpus);
  EXPECT_FALSE(record.samples[1].busy_cpus);  // the first reading is nothing to count from
  EXPECT_THAT(record.samples[2].busy_cpus, Optional(DoubleNear(1, 1e-9)));
  EXPECT_FALSE(record.samples[2].OtherCpus());
  EXPECT_FALSE(record.throttle_events);
  EXPECT_FALSE(record.quota_throttled_seconds);
  EXPECT_THAT(record.not_read, Contains(HasSubstr("CPU use: ")));
  EXPECT_THAT(record.not_read, Contains(HasSubstr("own CPU use: ")));
}

TEST(TelemetryCollector, PressureDirtyPagesAndFrequency) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  machine.File("proc/pressure/cpu", "some avg10=0 avg60=0 avg300=0 total=1000\n");
  machine.File("proc/pressure/io", "some avg10=0 avg60=0 avg300=0 total=0\n");
  machine.File("proc/meminfo", "Dirty: 100 kB\nWriteback: 28 kB\n");
  machine.File("sys/devices/system/cpu/cpufreq/policy0/scaling_cur_freq", "2000000\n");
  machine.File("sys/devices/system/cpu/cpufreq/policy1/scaling_cur_freq", "3000000\n");
  TelemetryCollector collector(machine.root(), OfProcess(1));
  collector.Sample(At(0));
  // Half a second of stall in two seconds.
  machine.File("proc/pressure/cpu", "some avg10=0 avg60=0 avg300=0 total=501000\n");
  collector.Sample(At(2 * kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(1));
  EXPECT_THAT(record.samples[0].cpu_pressure_percent, Optional(DoubleNear(25, 1e-9)));
  EXPECT_THAT(record.samples[0].io_pressure_percent, Optional(0.0));
  EXPECT_FALSE(record.samples[0].memory_pressure_percent);
  EXPECT_THAT(record.samples[0].dirty_bytes, Optional(128.0 * 1024));
  EXPECT_THAT(record.samples[0].mean_mhz, Optional(DoubleNear(2500, 1e-9)));
  EXPECT_THAT(record.not_read, Contains(HasSubstr("/proc/pressure/memory")));
}

TEST(TelemetryCollector, WritesOfTheDiskBehindTheFolder) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  machine.File("proc/self/mountinfo", "1 0 8:1 / / rw - ext4 /dev/sda1 rw\n");
  machine.File("sys/devices/made/block/sda/sda1/partition", "1\n");
  machine.Link("sys/class/block/sda1", "sys/devices/made/block/sda/sda1");
  machine.Link("sys/class/block/sda", "sys/devices/made/block/sda");
  machine.File("proc/diskstats", "8 1 sda1 1 1 1 1 1 1 1000 1 0 1 1\n");
  CollectorRequest request = OfProcess(1);
  request.folder = "/clips";
  TelemetryCollector collector(machine.root(), request);
  collector.Sample(At(0));
  machine.File("proc/diskstats", "8 1 sda1 1 1 1001 1 11 1 5000 201 0 501 1001\n");
  collector.Sample(At(2 * kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(1));
  // Ten writes took 200 ms; 500 of 2000 ms busy; 1000 weighted ms are half a request.
  EXPECT_THAT(record.samples[0].disk_write_ms, Optional(DoubleNear(20, 1e-9)));
  EXPECT_THAT(record.samples[0].disk_busy_percent, Optional(DoubleNear(25, 1e-9)));
  EXPECT_THAT(record.samples[0].disk_queue, Optional(DoubleNear(0.5, 1e-9)));
  EXPECT_THAT(record.samples[0].disk_read_bytes_per_second, Optional(1000.0 * 512 / 2));
  EXPECT_THAT(record.samples[0].disk_write_bytes_per_second, Optional(4000.0 * 512 / 2));
}

TEST(TelemetryCollector, OthersAreSortedAndOurChildrenAreOurs) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  SetProcess(machine, 50, "rigproof", 1, 0);
  SetProcess(machine, 51, "child", 50, 0);
  SetProcess(machine, 52, "grandchild", 51, 0);
  SetProcess(machine, 60, "busy", 1, 1000);
  SetProcess(machine, 61, "idle", 1, 7);
  TelemetryCollector collector(machine.root(), OfProcess(50));
  collector.Sample(At(0));
  SetProcess(machine, 52, "grandchild", 51, 200);
  SetProcess(machine, 60, "busy", 1, 1150);
  SetProcess(machine, 62, "new one", 1, 250);
  collector.Sample(At(4 * kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.others, SizeIs(2));
  EXPECT_EQ(record.others[0].name, "new one");
  EXPECT_THAT(record.others[0].cpu_seconds, DoubleNear(2.5, 1e-9));
  EXPECT_EQ(record.others[1].name, "busy");
  EXPECT_EQ(record.others[1].pid, 60);
  EXPECT_THAT(record.others[1].cpu_seconds, DoubleNear(1.5, 1e-9));
  ASSERT_THAT(record.samples, SizeIs(1));
  EXPECT_THAT(record.samples[0].own_cpus, Optional(DoubleNear(0.5, 1e-9)));
}

TEST(TelemetryCollector, AChildThatEndsIsNotLostNorCountedTwice) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  SetProcess(machine, 50, "rigproof", 1, 0);
  SetProcess(machine, 51, "child", 50, 300);
  TelemetryCollector collector(machine.root(), OfProcess(50));
  collector.Sample(At(0));
  machine.Remove("proc/51");
  SetProcess(machine, 50, "rigproof", 1, 0, 350);  // waited for: its time moves to the parent
  collector.Sample(At(kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(1));
  EXPECT_THAT(record.samples[0].own_cpus, Optional(DoubleNear(0.5, 1e-9)));
}

TEST(TelemetryCollector, ThrottlingAndQuotaAreDifferencesOfTheRun) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  machine.File("sys/devices/system/cpu/online", "0\n");
  machine.File("sys/devices/system/cpu/cpu0/thermal_throttle/core_throttle_count", "5\n");
  machine.File("proc/self/cgroup", "0::/box\n");
  machine.File("proc/self/mountinfo", "1 0 0:26 / /sys/fs/cgroup rw - cgroup2 cgroup2 rw\n");
  machine.File("sys/fs/cgroup/box/cpu.stat", "throttled_usec 1000000\n");
  TelemetryCollector collector(machine.root(), OfProcess(1));
  collector.Sample(At(0));
  machine.File("sys/devices/system/cpu/cpu0/thermal_throttle/core_throttle_count", "9\n");
  machine.File("sys/fs/cgroup/box/cpu.stat", "throttled_usec 4500000\n");
  collector.Sample(At(2 * kSecond));
  const auto record = collector.Finish();
  EXPECT_THAT(record.throttle_events, Optional(4));
  EXPECT_THAT(record.quota_throttled_seconds, Optional(DoubleNear(3.5, 1e-9)));
}

TEST(TelemetryCollector, EachCpuAndTheBusiestOtherProcess) {
  tests::UsbMadeMachine machine;
  machine.File("proc/stat", "cpu 0 0 0 0 0 0 0 0\ncpu0 0 0 0 0 0 0 0 0\ncpu1 0 0 0 0 0 0 0 0\n");
  SetProcess(machine, 50, "rigproof", 1, 0);
  SetProcess(machine, 60, "indexer", 1, 100);
  TelemetryCollector collector(machine.root(), OfProcess(50));
  collector.Sample(At(0));
  SetProcess(machine, 60, "indexer", 1, 200);
  collector.Sample(At(5 * kSecond));  // a round finds who is busy
  machine.File("proc/stat",
               "cpu 90 0 0 110 0 0 0 0\ncpu0 80 0 0 20 0 0 0 0\ncpu1 10 0 0 90 0 0 0 0\n");
  SetProcess(machine, 60, "indexer", 1, 250);
  collector.Sample(At(6 * kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(2));
  EXPECT_EQ(record.samples[1].core_busy_percent, (std::vector<int>{80, 10}));
  EXPECT_EQ(record.samples[1].top_other, "indexer");
  EXPECT_EQ(record.samples[1].top_other_pid, 60);
  EXPECT_THAT(record.samples[1].top_other_cpus, DoubleNear(0.5, 1e-9));
}

TEST(TelemetryCollector, QuotaOfTheGroupOfVersionOne) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  machine.File("proc/self/cgroup", "1:cpu:/box\n");
  machine.File("proc/self/mountinfo", "1 0 0:26 / /sys/fs/cgroup/cpu rw - cgroup cgroup rw,cpu\n");
  machine.File("sys/fs/cgroup/cpu/box/cpu.stat",
               "nr_periods 10\nnr_throttled 0\nthrottled_time 0\n");
  machine.File("sys/fs/cgroup/cpu/box/cpu.cfs_quota_us", "50000\n");
  machine.File("sys/fs/cgroup/cpu/box/cpu.cfs_period_us", "100000\n");
  TelemetryCollector collector(machine.root(), OfProcess(1));
  collector.Sample(At(0));
  machine.File("sys/fs/cgroup/cpu/box/cpu.stat",
               "nr_periods 20\nnr_throttled 4\nthrottled_time 500000000\n");
  collector.Sample(At(kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(1));
  EXPECT_THAT(record.samples[0].quota_cpus, Optional(DoubleNear(0.5, 1e-9)));
  EXPECT_THAT(record.samples[0].quota_throttled_percent, Optional(DoubleNear(40, 1e-9)));
  EXPECT_THAT(record.samples[0].quota_held_cpus, Optional(DoubleNear(0.5, 1e-9)));
}

TEST(TelemetryCollector, ThreadsThatWaitAndTheBusiestOfThem) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  const auto thread = [&](int id, const std::string& name, const std::string& times,
                          const std::string& call) {
    const std::string folder = fmt::format("proc/50/task/{}/", id);
    machine.File(folder + "comm", name + "\n");
    machine.File(folder + "schedstat", times + "\n");
    machine.File(folder + "syscall", call + "\n");
  };
  thread(50, "enc:1", "0 0 0", "running");
  thread(51, "wr:1", "0 0 0", "202 0x1");
  CollectorRequest request = OfProcess(50);
  request.writer_prefix = "wr";
  TelemetryCollector collector(machine.root(), request);
  collector.Sample(At(0));
  thread(50, "enc:1", "1900000000 100000000 5", "running");
  thread(51, "wr:1", "100000000 500000000 5", "18 0x1 0x2");  // pwrite64 on x86
  collector.Sample(At(2 * kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(1));
  EXPECT_EQ(record.samples[0].hot_thread, "enc:1");
  EXPECT_THAT(record.samples[0].hot_thread_cpus, DoubleNear(0.95, 1e-9));
  EXPECT_THAT(record.samples[0].run_wait_cpus, Optional(DoubleNear(0.3, 1e-9)));
#if defined(__x86_64__)
  EXPECT_THAT(record.samples[0].writers_asleep_percent, Optional(100.0));
#endif
}

TEST(TelemetryCollector, FaultsSwappingAndLimitsAreRates) {
  tests::UsbMadeMachine machine;
  SetStat(machine, 0, 0, 0);
  // Field 12 of proc_pid_stat(5) counts major faults.
  machine.File("proc/50/stat", "50 (rigproof) S 1 1 1 0 -1 0 0 0 7 0 0 0 0 0 20 0 1 0 500 0 0");
  machine.File("proc/vmstat", "pswpin 10\npswpout 0\nallocstall_dma 1\nallocstall_normal 2\n");
  machine.File("proc/self/cgroup", "4:memory:/box\n");
  machine.File("proc/self/mountinfo",
               "1 0 0:26 / /sys/fs/cgroup/memory rw - cgroup cgroup rw,memory\n");
  machine.File("sys/fs/cgroup/memory/box/memory.failcnt", "5\n");
  TelemetryCollector collector(machine.root(), OfProcess(50));
  collector.Sample(At(0));
  machine.File("proc/50/stat", "50 (rigproof) S 1 1 1 0 -1 0 0 0 27 0 0 0 0 0 20 0 1 0 500 0 0");
  machine.File("proc/vmstat", "pswpin 30\npswpout 20\nallocstall_dma 1\nallocstall_normal 8\n");
  machine.File("sys/fs/cgroup/memory/box/memory.failcnt", "105\n");
  collector.Sample(At(2 * kSecond));
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(1));
  EXPECT_THAT(record.samples[0].major_faults_per_second, Optional(DoubleNear(10, 1e-9)));
  EXPECT_THAT(record.samples[0].swapped_bytes_per_second, Optional(DoubleNear(20 * 4096, 1e-6)));
  EXPECT_THAT(record.samples[0].reclaim_stalls_per_second, Optional(DoubleNear(3, 1e-9)));
  EXPECT_THAT(record.samples[0].memory_limit_hits_per_second, Optional(DoubleNear(50, 1e-9)));
}

TEST(TelemetryCollector, AStepOfTheWallClockIsSeen) {
  tests::UsbMadeMachine machine;
  TelemetryCollector collector(machine.root(), OfProcess(1));
  collector.Sample(At(0, 1000 * kSecond));
  collector.Sample(At(kSecond, 1001 * kSecond));
  collector.Sample(At(2 * kSecond, 1001 * kSecond + kSecond / 2));  // set back by half a second
  const auto record = collector.Finish();
  ASSERT_THAT(record.samples, SizeIs(2));
  EXPECT_THAT(record.samples[0].wall_clock_step_ms, Optional(DoubleNear(0, 1e-9)));
  EXPECT_THAT(record.samples[1].wall_clock_step_ms, Optional(DoubleNear(-500, 1e-9)));
}

TEST(CountFrom, MovesTheZeroAndLeavesOutWhatCameBefore) {
  probes::TelemetryRecord record;
  record.zero_ns = 10 * kSecond;
  for (const double at_s : {0.25, 0.5, 0.75, 1.0}) {
    record.samples.emplace_back().at_s = at_s;
  }
  probes::CountFrom(record, 10 * kSecond + kSecond / 2);
  EXPECT_EQ(record.zero_ns, 10 * kSecond + kSecond / 2);
  ASSERT_THAT(record.samples, SizeIs(2));
  EXPECT_THAT(record.samples[0].at_s, DoubleNear(0.25, 1e-9));
}

TEST(TelemetryCollector, AnEmptyMachineGivesReasonsAndNoFigures) {
  tests::UsbMadeMachine machine;
  TelemetryCollector collector(machine.root(), OfProcess(1));
  collector.Sample(At(0));
  collector.Sample(At(kSecond));
  collector.Sample(At(kSecond));  // no time has passed: no sample
  const auto record = collector.Finish();
  EXPECT_THAT(record.samples, SizeIs(1));
  EXPECT_THAT(record.others, IsEmpty());
  EXPECT_THAT(record.not_read, Contains(HasSubstr("CPU use")));
  ASSERT_TRUE(record.cpu_use_not_read);
  EXPECT_THAT(record.not_read, Contains(*record.cpu_use_not_read));
  EXPECT_THAT(record.not_read, Contains(HasSubstr("CPU frequency")));
}

TEST(TelemetrySampler, SamplesThisPcAndTellsItsCost) {
  base::SystemClock clock;
  probes::TelemetrySampler sampler(base::MachineRoot::Live(), {20, "/", ""}, clock);
  const std::int64_t start_ns = clock.NowNs();
  volatile double work = 0;
  while (clock.NowNs() - start_ns < kSecond / 10) {
    work = work + 1;
  }
  const auto record = sampler.Stop();
  EXPECT_THAT(record.period_s, DoubleNear(0.05, 1e-9));
  EXPECT_GT(record.cost_cpu_seconds, 0);
  double last_s = 0;
  for (const auto& sample : record.samples) {
    EXPECT_GT(sample.at_s, last_s);
    last_s = sample.at_s;
    EXPECT_GE(sample.busy_cpus, 0);
    EXPECT_TRUE(sample.dirty_bytes);
  }
  EXPECT_THAT(sampler.Stop().samples, IsEmpty());
}

TEST(TelemetrySampler, MayGoWithoutBeingStopped) {
  base::SystemClock clock;
  const probes::TelemetrySampler sampler(base::MachineRoot::Live(), {1, "", ""}, clock);
}

}  // namespace
