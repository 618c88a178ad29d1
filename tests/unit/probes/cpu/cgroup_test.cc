// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/cgroup.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/usb_made_machine.h"

namespace {

using probes::FindGroups;
using probes::ParseCpuMax;
using probes::ParseLimitHits;
using probes::ParseQuotaUse;
using testing::DoubleNear;
using testing::ElementsAre;
using testing::Optional;

constexpr const char* kUnified =
    "30 23 0:26 / /sys/fs/cgroup rw,nosuid - cgroup2 cgroup2 rw,nsdelegate\n";

TEST(FindGroups, WalksUpTheUnifiedTree) {
  const auto groups = FindGroups("cpu", "0::/user.slice/session.scope\n", kUnified);
  EXPECT_EQ(groups.version, 2);
  EXPECT_THAT(groups.folders, ElementsAre("/sys/fs/cgroup/user.slice/session.scope",
                                          "/sys/fs/cgroup/user.slice", "/sys/fs/cgroup"));
}

TEST(FindGroups, PrefersVersionOneWhereTheControllerIs) {
  const auto groups =
      FindGroups("cpu", "3:cpu,cpuacct:/box\n0::/box\n",
                 "32 31 0:29 / /sys/fs/cgroup/cpu,cpuacct rw - cgroup cgroup rw,cpu,cpuacct\n"
                 "41 31 0:38 / /sys/fs/cgroup/unified rw - cgroup2 cgroup2 rw\n");
  EXPECT_EQ(groups.version, 1);
  EXPECT_THAT(groups.folders,
              ElementsAre("/sys/fs/cgroup/cpu,cpuacct/box", "/sys/fs/cgroup/cpu,cpuacct"));
}

TEST(FindGroups, TakesOffThePartThatTheMountDoesNotShow) {
  // A container without a cgroup namespace: paths count from the host's top.
  const auto groups =
      FindGroups("cpu", "4:cpu:/docker/abc/inner\n",
                 "32 31 0:29 /docker/abc /sys/fs/cgroup/cpu ro - cgroup cgroup rw,cpu\n");
  EXPECT_THAT(groups.folders, ElementsAre("/sys/fs/cgroup/cpu/inner", "/sys/fs/cgroup/cpu"));
}

TEST(FindGroups, CpusetIsNotTheCpuController) {
  const auto groups = FindGroups(
      "cpu", "3:cpuset:/\n", "34 31 0:31 / /sys/fs/cgroup/cpuset rw - cgroup cgroup rw,cpuset\n");
  EXPECT_TRUE(groups.folders.empty());
}

TEST(FindGroups, HostileTextsGiveNothingOutside) {
  EXPECT_TRUE(FindGroups("cpu", "", "").folders.empty());
  EXPECT_TRUE(FindGroups("cpu", "0:", kUnified).folders.empty());
  EXPECT_THAT(FindGroups("cpu", "0::/../../etc\n", kUnified).folders,
              ElementsAre("/sys/fs/cgroup"));
}

// https://docs.kernel.org/admin-guide/cgroup-v2.html, cpu.max: "$MAX $PERIOD".
TEST(ParseCpuMax, ReadsQuotaAndPeriod) {
  EXPECT_DOUBLE_EQ(**ParseCpuMax("150000 100000\n"), 1.5);
  EXPECT_FALSE(ParseCpuMax("max 100000\n")->has_value());
}

TEST(ParseCpuMax, RefusesWhatIsNot) {
  for (const char* text : {"", "max", "100000", "0 100000", "-1 100000", "1 0", "1 2 3", "a b"}) {
    EXPECT_FALSE(ParseCpuMax(text)) << text;
  }
}

TEST(ParseQuotaUse, ReadsBothVersions) {
  const auto two =
      ParseQuotaUse("usage_usec 9\nnr_periods 40\nnr_throttled 7\nthrottled_usec 2500000\n");
  EXPECT_THAT(two.throttled_s, Optional(DoubleNear(2.5, 1e-9)));
  EXPECT_THAT(two.periods, Optional(40));
  EXPECT_EQ(two.throttled_periods, 7);
  const auto one = ParseQuotaUse("nr_periods 1\nthrottled_time 1500000000\n");
  EXPECT_THAT(one.throttled_s, Optional(DoubleNear(1.5, 1e-9)));
  EXPECT_FALSE(ParseQuotaUse("").throttled_s);
  EXPECT_FALSE(ParseQuotaUse("usage_usec 1\n").periods);
  EXPECT_FALSE(ParseQuotaUse("throttled_usec x\n").throttled_s);
}

TEST(ParseLimitHits, ReadsBothVersions) {
  EXPECT_THAT(ParseLimitHits("412\n"), Optional(412));
  EXPECT_THAT(ParseLimitHits("low 1\nhigh 2\nmax 30\noom 4\n"), Optional(32));
  EXPECT_FALSE(ParseLimitHits(""));
  EXPECT_FALSE(ParseLimitHits("low 1\n"));
}

TEST(ReadCpuQuota, TheTightestGroupAboveCounts) {
  tests::UsbMadeMachine machine;
  machine.File("sys/fs/cgroup/a/b/cpu.max", "max 100000\n");
  machine.File("sys/fs/cgroup/a/cpu.max", "50000 100000\n");
  machine.File("sys/fs/cgroup/cpu.max", "200000 100000\n");
  const auto groups = FindGroups("cpu", "0::/a/b\n", kUnified);
  EXPECT_EQ(ReadCpuQuota(machine.root(), groups), 0.5);
}

TEST(ReadCpuQuota, ReadsVersionOneAndItsUnlimited) {
  tests::UsbMadeMachine machine;
  machine.File("sys/fs/cgroup/cpu/a/cpu.cfs_quota_us", "-1\n");
  machine.File("sys/fs/cgroup/cpu/a/cpu.cfs_period_us", "100000\n");
  const probes::CpuGroups groups{1, {"/sys/fs/cgroup/cpu/a", "/sys/fs/cgroup/cpu"}};
  EXPECT_FALSE(ReadCpuQuota(machine.root(), groups));
  machine.File("sys/fs/cgroup/cpu/cpu.cfs_quota_us", "300000\n");
  machine.File("sys/fs/cgroup/cpu/cpu.cfs_period_us", "200000\n");
  EXPECT_EQ(ReadCpuQuota(machine.root(), groups), 1.5);
}

// https://docs.kernel.org/admin-guide/cgroup-v2.html: memory.max, memory.current, memory.stat.
TEST(ReadMemoryLimit, TightestGroupRulesAndIdleFilePagesAreFree) {
  tests::UsbMadeMachine machine;
  machine.File("sys/fs/cgroup/a/b/memory.max", "max\n");
  machine.File("sys/fs/cgroup/a/b/memory.current", "5000\n");
  machine.File("sys/fs/cgroup/a/memory.max", "10000\n");
  machine.File("sys/fs/cgroup/a/memory.current", "9000\n");
  machine.File("sys/fs/cgroup/a/memory.stat", "anon 1\ninactive_file 2500\n");
  const auto limit = probes::ReadMemoryLimit(
      machine.root(), {2, {"/sys/fs/cgroup/a/b", "/sys/fs/cgroup/a", "/sys/fs/cgroup"}});
  ASSERT_TRUE(limit);
  EXPECT_EQ(limit->limit_bytes, 10000);
  EXPECT_EQ(limit->free_bytes, 3500);
}

TEST(ReadMemoryLimit, IdleFilePagesAreNoMoreThanIsUsed) {
  tests::UsbMadeMachine machine;
  machine.File("sys/fs/cgroup/a/memory.max", "10000\n");
  machine.File("sys/fs/cgroup/a/memory.current", "4000\n");
  const auto free_with = [&](const char* idle) {
    machine.File("sys/fs/cgroup/a/memory.stat", std::string("inactive_file ") + idle + "\n");
    const auto limit = probes::ReadMemoryLimit(machine.root(), {2, {"/sys/fs/cgroup/a"}});
    return limit ? limit->free_bytes : -1;
  };
  EXPECT_EQ(free_with("9223372036854775807"), 10000);
  EXPECT_EQ(free_with("-9223372036854775808"), 6000);
}

// https://docs.kernel.org/admin-guide/cgroup-v1/memory.html: limit_in_bytes, usage_in_bytes, stat.
TEST(ReadMemoryLimit, VersionOneWithoutALimitSetsNone) {
  tests::UsbMadeMachine machine;
  machine.File("sys/fs/cgroup/memory/memory.limit_in_bytes", "9223372036854771712\n");
  machine.File("sys/fs/cgroup/memory/memory.usage_in_bytes", "5000\n");
  machine.File("sys/fs/cgroup/memory/box/memory.limit_in_bytes", "4000\n");
  machine.File("sys/fs/cgroup/memory/box/memory.usage_in_bytes", "4000\n");
  machine.File("sys/fs/cgroup/memory/box/memory.stat",
               "inactive_file 7\ntotal_inactive_file 1000\n");
  EXPECT_FALSE(probes::ReadMemoryLimit(machine.root(), {1, {"/sys/fs/cgroup/memory"}}));
  const auto limit = probes::ReadMemoryLimit(
      machine.root(), {1, {"/sys/fs/cgroup/memory/box", "/sys/fs/cgroup/memory"}});
  ASSERT_TRUE(limit);
  EXPECT_EQ(limit->free_bytes, 1000);
}

}  // namespace
