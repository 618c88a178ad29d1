// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/telemetry_texts.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using testing::Optional;
using testing::SizeIs;

TEST(ParseCoreTicks, HasALineForEachCpu) {
  const auto cores = probes::ParseCoreTicks(
      "cpu  10 0 10 80 0 0 0 2\ncpu0 10 0 0 40 0 0 0 2\ncpu3 0 0 10 40 0 0 0 0\nintr 5\n");
  ASSERT_TRUE(cores);
  ASSERT_THAT(*cores, SizeIs(2));
  EXPECT_EQ((*cores)[0].busy, 10);
  EXPECT_EQ((*cores)[0].steal, 2);
  EXPECT_EQ((*cores)[1].idle, 40);
  EXPECT_FALSE(probes::ParseCoreTicks("cpu0 a b c d\n"));
  EXPECT_THAT(*probes::ParseCoreTicks(""), SizeIs(0));
}

// Columns as in https://docs.kernel.org/admin-guide/iostats.html, with the discard and flush
// fields of newer kernels behind them.
TEST(ParseDiskTotals, TakesTheColumnsOfTheKernelsPage) {
  constexpr const char* kText =
      "   8       0 sda 100 1 2000 30 400 5 8000 600 7 500 630 9 0 90 3 2 1\n";
  const auto totals = probes::ParseDiskTotals(kText, "sda");
  ASSERT_TRUE(totals);
  EXPECT_EQ(totals->sectors_read, 2000);
  EXPECT_EQ(totals->writes, 400);
  EXPECT_EQ(totals->sectors_written, 8000);
  EXPECT_EQ(totals->write_ms, 600);
  EXPECT_EQ(totals->busy_ms, 500);
  EXPECT_EQ(totals->weighted_ms, 630);
  EXPECT_FALSE(probes::ParseDiskTotals(kText, "sd"));
  EXPECT_FALSE(probes::ParseDiskTotals("8 0 sda 1 2", "sda"));
  EXPECT_FALSE(probes::ParseDiskTotals("8 0 sda a b c d e f g h i j k", "sda"));
}

TEST(ParseVmStat, AddsUpTheStallsOfAllZones) {
  const auto events = probes::ParseVmStat(
      "nr_free_pages 5\npswpin 7\npswpout 9\nallocstall_dma32 1\nallocstall_normal 4\n");
  EXPECT_THAT(events.pages_swapped_in, Optional(7));
  EXPECT_THAT(events.pages_swapped_out, Optional(9));
  EXPECT_THAT(events.reclaim_stalls, Optional(5));
  EXPECT_FALSE(probes::ParseVmStat("").reclaim_stalls);
}

TEST(ParseLimitHits, ReadsBothVersions) {
  EXPECT_THAT(probes::ParseLimitHits("412\n"), Optional(412));
  EXPECT_THAT(probes::ParseLimitHits("low 1\nhigh 2\nmax 30\noom 4\n"), Optional(32));
  EXPECT_FALSE(probes::ParseLimitHits(""));
  EXPECT_FALSE(probes::ParseLimitHits("low 1\n"));
}

TEST(ParseQuotaPeriods, ReadsBothVersions) {
  const auto two = probes::ParseQuotaPeriods("usage_usec 1\nnr_periods 40\nnr_throttled 7\n");
  ASSERT_TRUE(two);
  EXPECT_EQ(two->all, 40);
  EXPECT_EQ(two->throttled, 7);
  EXPECT_FALSE(probes::ParseQuotaPeriods("usage_usec 1\n"));
}

TEST(ParseRetransmits, FindsTheColumnByItsName) {
  EXPECT_THAT(*probes::ParseRetransmits("Ip: a b\nIp: 1 2\nTcp: RtoMin RetransSegs InErrs\n"
                                        "Tcp: 200 495 0\nUdp: x\n"),
              495);
  EXPECT_FALSE(probes::ParseRetransmits("Tcp: RtoMin\nTcp: 200\n"));
  EXPECT_FALSE(probes::ParseRetransmits(""));
}

TEST(ParseLinkLosses, AddsErrorsAndDropsOfBothWays) {
  constexpr const char* kText =
      "Inter-|   Receive                                                |  Transmit\n"
      " face |bytes    packets errs drop fifo frame compressed multicast|bytes packets errs drop "
      "fifo colls carrier compressed\n"
      "    lo: 1 1 100 100 0 0 0 0 1 1 100 100 0 0 0 0\n"
      "  eth0: 5000 50 1 2 0 0 0 0 6000 60 3 4 0 0 0 0\n";
  EXPECT_EQ(*probes::ParseLinkLosses(kText), 10);
  EXPECT_FALSE(probes::ParseLinkLosses("eth0: 1 2\n"));
}

TEST(ParseThreadTimes, HasTimeOnACpuAndTimeWithoutOne) {
  const auto times = probes::ParseThreadTimes("139397 1426897 2\n");
  ASSERT_TRUE(times);
  EXPECT_EQ(times->run_ns, 139397);
  EXPECT_EQ(times->wait_ns, 1426897);
  EXPECT_FALSE(probes::ParseThreadTimes(""));
  EXPECT_FALSE(probes::ParseThreadTimes("12"));
}

}  // namespace
