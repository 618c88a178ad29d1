// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/cpu.h"

#include <sched.h>

#include <cstdlib>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/cpu/throttle_counters.h"
#include "probes/cpu/topology.h"
#include "probes/cpu/usable_cpus.h"
#include "tests/support/usb_made_machine.h"

namespace {

using base::Reading;
using probes::ParseCpuList;
using probes::ReadCpu;
using probes::ReadThrottleEvents;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

TEST(ParseCpuList, ReadsRangesAndSingles) {
  EXPECT_THAT(*ParseCpuList("0-3,8\n"), ElementsAre(0, 1, 2, 3, 8));
  EXPECT_THAT(*ParseCpuList("5"), ElementsAre(5));
  EXPECT_THAT(*ParseCpuList("\n"), IsEmpty());
}

TEST(ParseCpuList, RefusesWhatIsNotAndWhatIsHuge) {
  for (const char* text : {"a", "1-", "-1", "3-1", "1,,2", "0-4000000000", "65536", "1 2",
                           "0-65535,0-65535,0-65535"}) {
    EXPECT_FALSE(ParseCpuList(text)) << text;
  }
}

/// Two cores with two threads each, in one package.
void AddCpus(tests::UsbMadeMachine& machine) {
  machine.File("sys/devices/system/cpu/online", "0-3\n");
  machine.File("sys/devices/system/cpu/possible", "0-3\n");
  for (int cpu = 0; cpu < 4; ++cpu) {
    const std::string folder = "sys/devices/system/cpu/cpu" + std::to_string(cpu) + "/";
    const std::string siblings = cpu < 2 ? "3" : "c";
    machine.File(folder + "topology/core_cpus", siblings + "\n");
    machine.File(folder + "topology/thread_siblings", siblings + "\n");
    machine.File(folder + "topology/package_cpus", "f\n");
    machine.File(folder + "topology/core_siblings", "f\n");
    machine.File(folder + "topology/core_id", std::to_string(cpu / 2) + "\n");
    machine.File(folder + "topology/physical_package_id", "0\n");
    machine.File(folder + "cpufreq/cpuinfo_max_freq", "4000000\n");
    machine.File(folder + "cpufreq/scaling_min_freq", "800000\n");
    machine.File(folder + "cpufreq/scaling_max_freq", cpu == 3 ? "3500000\n" : "3000000\n");
    machine.File(folder + "cpufreq/scaling_driver", "made_pstate\n");
    machine.File(folder + "cpufreq/scaling_governor", cpu == 0 ? "powersave\n" : "performance\n");
    machine.File(folder + "thermal_throttle/core_throttle_count", cpu < 2 ? "5\n" : "7\n");
    machine.File(folder + "thermal_throttle/package_throttle_count", "100\n");
  }
}

TEST(ReadCpu, ReadsAMadeMachine) {
  tests::UsbMadeMachine machine;
  AddCpus(machine);
  machine.File("proc/cpuinfo", "processor : 0\nmodel name : Made CPU\nflags : fpu\n");
  machine.File("proc/meminfo", "MemTotal: 1024 kB\nMemAvailable: 512 kB\nSwapTotal: 0 kB\n");
  machine.File("sys/devices/system/cpu/intel_pstate/no_turbo", "1\n");
  const auto cpu = ReadCpu(machine.root());
  EXPECT_EQ(cpu.model, Reading<std::string>("Made CPU"));
  EXPECT_EQ(cpu.packages, Reading<int>(1));
  EXPECT_EQ(cpu.cores, Reading<int>(2));
  EXPECT_EQ(cpu.threads, Reading<int>(4));
  ASSERT_THAT(cpu.kinds, SizeIs(1));
  EXPECT_EQ(cpu.kinds[0].name, "core");
  EXPECT_EQ(cpu.kinds[0].cores, 2);
  EXPECT_EQ(cpu.kinds[0].threads, 4);
  EXPECT_EQ(cpu.kinds[0].max_khz, Reading<std::int64_t>(4000000));
  EXPECT_EQ(cpu.min_khz, Reading<std::int64_t>(800000));
  EXPECT_EQ(cpu.max_khz, Reading<std::int64_t>(3500000));
  EXPECT_EQ(cpu.frequency_driver, Reading<std::string>("made_pstate"));
  EXPECT_EQ(cpu.governor, Reading<std::string>("mixed: performance, powersave"));
  EXPECT_FALSE(cpu.energy_preference);
  EXPECT_EQ(cpu.boost_enabled, Reading<bool>(false));
  EXPECT_EQ(cpu.hypervisor, Reading<std::string>("none"));
  EXPECT_EQ(cpu.memory_bytes, Reading<std::int64_t>(1048576));
  EXPECT_EQ(cpu.swap_bytes, Reading<std::int64_t>(0));
  EXPECT_FALSE(cpu.usable_cpus);
}

TEST(ReadCpu, TellsWhatEachKindIsAllowedAgainstWhatItCan) {
  tests::UsbMadeMachine machine;
  AddCpus(machine);
  const auto cpu = ReadCpu(machine.root());
  ASSERT_THAT(cpu.kinds, SizeIs(1));
  EXPECT_EQ(cpu.kinds[0].allowed_khz, Reading<std::int64_t>(3000000));
  EXPECT_EQ(cpu.kinds[0].held_threads, Reading<int>(4));
  EXPECT_FALSE(cpu.performance_limit.known());
  machine.File("sys/devices/system/cpu/intel_pstate/max_perf_pct", "60\n");
  EXPECT_EQ(ReadCpu(machine.root()).performance_limit, Reading<int>(60));
}

TEST(ReadCpu, ACacheWithoutASizeIsUnknownNotEmpty) {
  tests::UsbMadeMachine machine;
  AddCpus(machine);
  for (int cpu = 0; cpu < 4; ++cpu) {
    const std::string cache = "sys/devices/system/cpu/cpu" + std::to_string(cpu) + "/cache/index0/";
    machine.File(cache + "level", "1\n");
    machine.File(cache + "type", "Data\n");
    machine.File(cache + "shared_cpu_map", cpu < 2 ? "3\n" : "c\n");
  }
  const auto caches = ReadCpu(machine.root()).caches;
  ASSERT_THAT(caches, SizeIs(1));
  EXPECT_THAT(caches[0].size_bytes.why_unknown(), HasSubstr("no size"));
}

TEST(ReadCpu, SiblingsShowTheSameThrottleCounter) {
  tests::UsbMadeMachine machine;
  AddCpus(machine);
  // Two cores (5 and 7) and one package (100), however many threads repeat them.
  EXPECT_EQ(ReadThrottleEvents(machine.root(), {0, 1, 2, 3}), Reading<std::int64_t>(112));
}

TEST(ReadCpu, AVirtualMachineIsNamedByWhatItHas) {
  tests::UsbMadeMachine machine;
  machine.File("proc/cpuinfo", "model name : Made CPU\nflags : fpu hypervisor\n");
  EXPECT_EQ(ReadCpu(machine.root()).hypervisor, Reading<std::string>("yes, unnamed"));
  machine.File("sys/class/dmi/id/sys_vendor", "Made Cloud\n");
  machine.File("sys/class/dmi/id/product_name", "Large\n");
  EXPECT_EQ(ReadCpu(machine.root()).hypervisor, Reading<std::string>("Made Cloud Large"));
  machine.File("sys/hypervisor/type", "xen\n");
  EXPECT_EQ(ReadCpu(machine.root()).hypervisor, Reading<std::string>("xen"));
}

TEST(ReadCpu, AMachineWithoutProcessorsDoesNotShowOurs) {
  tests::UsbMadeMachine machine;
  const auto cpu = ReadCpu(machine.root());
  EXPECT_FALSE(cpu.threads);
  EXPECT_THAT(cpu.threads.why_unknown(), HasSubstr("/sys/devices/system/cpu"));
  EXPECT_FALSE(cpu.model);
  EXPECT_FALSE(cpu.hypervisor);
  EXPECT_FALSE(cpu.memory_bytes);
  EXPECT_THAT(cpu.kinds, IsEmpty());
}

TEST(ReadCpu, HostileProcessorNumbersAreRefused) {
  tests::UsbMadeMachine machine;
  AddCpus(machine);
  machine.File("sys/devices/system/cpu/online", "0-4000000000\n");
  EXPECT_FALSE(ReadCpu(machine.root()).threads);
  tests::UsbMadeMachine other;
  other.Folder("sys/devices/system/cpu/cpu4000000000/topology");
  EXPECT_THAT(ReadCpu(other.root()).threads.why_unknown(), HasSubstr("65535"));
}

TEST(ReadCpu, LeavesTheEnvironmentAsItWas) {
  tests::UsbMadeMachine machine;
  AddCpus(machine);
  setenv("HWLOC_COMPONENTS", "-made", 1);
  unsetenv("HWLOC_FSROOT");
  unsetenv("HWLOC_THISSYSTEM");
  ASSERT_TRUE(ReadCpu(machine.root()).threads);
  EXPECT_STREQ(getenv("HWLOC_COMPONENTS"), "-made");
  EXPECT_EQ(getenv("HWLOC_FSROOT"), nullptr);
  EXPECT_EQ(getenv("HWLOC_THISSYSTEM"), nullptr);
  unsetenv("HWLOC_COMPONENTS");
}

TEST(ReadUsableCpus, IsNeverAboveTheAffinityOfThisProcess) {
  const auto usable = probes::ReadUsableCpus(base::MachineRoot::Live());
  ASSERT_TRUE(usable);
  EXPECT_GT(*usable, 0);
  cpu_set_t set;
  CPU_ZERO(&set);
  ASSERT_EQ(sched_getaffinity(0, sizeof(set), &set), 0);
  EXPECT_LE(*usable, CPU_COUNT(&set));
}

TEST(ReadUsableCpus, FollowsTheAffinity) {
  cpu_set_t before;
  CPU_ZERO(&before);
  ASSERT_EQ(sched_getaffinity(0, sizeof(before), &before), 0);
  int first = 0;
  while (!CPU_ISSET(first, &before)) {
    ++first;
  }
  cpu_set_t one;
  CPU_ZERO(&one);
  CPU_SET(first, &one);
  ASSERT_EQ(sched_setaffinity(0, sizeof(one), &one), 0);
  const auto usable = probes::ReadUsableCpus(base::MachineRoot::Live());
  ASSERT_EQ(sched_setaffinity(0, sizeof(before), &before), 0);
  ASSERT_TRUE(usable);
  EXPECT_LE(*usable, 1.0);
}

}  // namespace
