// SPDX-License-Identifier: Apache-2.0
//
// Texts of the kernel about the whole PC.

#include "probes/procfs/system_texts.h"

#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using probes::ParseCpuInfo;
using probes::ParseMemInfo;
using probes::ParsePressureTotalUs;
using probes::ParseStatTicks;
using testing::IsEmpty;
using testing::Optional;
using testing::SizeIs;

TEST(ParseMemInfo, GivesBytes) {
  const auto info = ParseMemInfo(
      "MemTotal:       24684084 kB\nMemFree: 1 kB\nMemAvailable:   22000000 kB\n"
      "SwapTotal:      0 kB\nDirty:  120 kB\nWriteback: 8 kB\nWritebackTmp: 5 kB\n");
  EXPECT_EQ(info.total_bytes, 24684084LL * 1024);
  EXPECT_EQ(info.available_bytes, 22000000LL * 1024);
  EXPECT_EQ(info.swap_bytes, 0);
  EXPECT_EQ(info.dirty_bytes, 120 * 1024);
  EXPECT_EQ(info.writeback_bytes, 8 * 1024);
}

TEST(ParseMemInfo, WhatIsMissingOrOddStaysEmpty) {
  const auto info = ParseMemInfo(
      "MemTotal: lots kB\nMemAvailable: -5 kB\nSwapTotal: 12\nDirty: 99999999999999999 kB\n:\n");
  EXPECT_FALSE(info.total_bytes);
  EXPECT_FALSE(info.available_bytes);
  EXPECT_FALSE(info.swap_bytes);
  EXPECT_FALSE(info.dirty_bytes);
  EXPECT_FALSE(ParseMemInfo("").total_bytes);
}

TEST(ParseCpuInfo, ReadsTheFirstProcessor) {
  const auto info = ParseCpuInfo(
      "processor\t: 0\nvendor_id\t: Made\nmodel name\t: Made CPU @ 3 GHz\nflags\t\t: fpu "
      "hypervisor "
      "aes\n\nprocessor\t: 1\nmodel name\t: Another\n");
  EXPECT_EQ(info.model, "Made CPU @ 3 GHz");
  EXPECT_EQ(info.hypervisor_flag, true);
}

TEST(ParseCpuInfo, TheFlagIsAWholeWord) {
  EXPECT_EQ(ParseCpuInfo("flags: fpu nohypervisorx\n").hypervisor_flag, false);
}

TEST(ParseCpuInfo, OtherProcessorsHaveNoSuchFlag) {
  const auto info = ParseCpuInfo("processor : 0\nFeatures : fp asimd\n");
  EXPECT_EQ(info.model, "");
  EXPECT_FALSE(info.hypervisor_flag);
}

TEST(ParseCpuInfo, NamesWithControlCharactersAreShownAsText) {
  EXPECT_EQ(ParseCpuInfo("model name : a\x1b[2Jb\n").model, "a\\x1B[2Jb");
}

// Field order of proc_stat(5): user nice system idle iowait irq softirq steal guest guest_nice.
TEST(ParseStatTicks, GuestTimeIsNotCountedTwice) {
  const auto ticks = ParseStatTicks("cpu  100 20 30 400 50 6 7 8 90 10\ncpu0 1 2 3 4\n");
  ASSERT_TRUE(ticks);
  EXPECT_EQ(ticks->all.busy, 100 + 20 + 30 + 6 + 7);
  EXPECT_EQ(ticks->all.idle, 450);
  EXPECT_EQ(ticks->all.steal, 8);
  EXPECT_EQ(ticks->all.interrupts, 13);
}

TEST(ParseStatTicks, OldKernelsHaveFewerFields) {
  const auto ticks = ParseStatTicks("cpu  1 2 3 4\n");
  ASSERT_TRUE(ticks);
  EXPECT_EQ(ticks->all.busy, 6);
  EXPECT_EQ(ticks->all.steal, 0);
  EXPECT_THAT(ticks->cores, IsEmpty());
}

TEST(ParseStatTicks, RefusesWhatIsNot) {
  for (const char* text : {"", "cpu", "cpu0 1 2 3 4", "cpu 1 2 3", "cpu 1 x 3 4 5", "intr 5"}) {
    EXPECT_FALSE(ParseStatTicks(text)) << text;
  }
  EXPECT_EQ(ParseStatTicks("cpu 1 x 3 4\n").error().detail, "found 'x' where a number belongs");
}

TEST(ParseStatTicks, HasALineForEachCpu) {
  const auto ticks = ParseStatTicks(
      "cpu  10 0 10 80 0 0 0 2\ncpu0 10 0 0 40 0 0 0 2\ncpu3 0 0 10 40 0 10 20 0\nintr 5\ncpu4 9 9 "
      "9 "
      "9\n");
  ASSERT_TRUE(ticks);
  ASSERT_THAT(ticks->cores, SizeIs(2));
  EXPECT_EQ(ticks->cores[0].busy, 10);
  EXPECT_EQ(ticks->cores[0].steal, 2);
  EXPECT_EQ(ticks->cores[1].idle, 40);
  EXPECT_EQ(ticks->cores[1].interrupts, 30);
  // What of the cores is odd leaves the sum of all as it is.
  const auto odd = ParseStatTicks("cpu 1 2 3 4\ncpu0 1 2 3 4\ncpu1 a b c d\n");
  ASSERT_TRUE(odd);
  EXPECT_EQ(odd->all.busy, 6);
  EXPECT_THAT(odd->cores, IsEmpty());
}

TEST(ParseNewestNumber, IsTheLastOfLoadavg) {
  EXPECT_THAT(probes::ParseNewestNumber("0.20 0.18 0.12 1/80 11206\n"), Optional(11206));
  EXPECT_FALSE(probes::ParseNewestNumber("0.20 0.18 0.12\n"));
}

TEST(ParseVmStat, AddsUpTheStallsOfAllZones) {
  const auto events = probes::ParseVmStat(
      "nr_free_pages 5\npswpin 7\npswpout 9\nallocstall_dma32 1\nallocstall_normal 4\n");
  EXPECT_THAT(events.pages_swapped_in, Optional(7));
  EXPECT_THAT(events.pages_swapped_out, Optional(9));
  EXPECT_THAT(events.reclaim_stalls, Optional(5));
  EXPECT_FALSE(probes::ParseVmStat("").reclaim_stalls);
}

// https://docs.kernel.org/accounting/psi.html
TEST(ParsePressureTotalUs, ReadsTheSomeLine) {
  const auto total = ParsePressureTotalUs(
      "some avg10=0.00 avg60=0.10 avg300=0.02 total=1234567\n"
      "full avg10=0.00 avg60=0.00 avg300=0.00 total=99\n");
  ASSERT_TRUE(total);
  EXPECT_EQ(*total, 1234567);
  EXPECT_FALSE(ParsePressureTotalUs(""));
  EXPECT_FALSE(ParsePressureTotalUs("some avg10=0.00\n"));
  EXPECT_FALSE(ParsePressureTotalUs("full total=5\n"));
}

// Columns as in https://docs.kernel.org/admin-guide/iostats.html, with the discard and flush
// fields of newer kernels behind them.
TEST(ParseDisks, TakesEveryWholeLine) {
  std::vector<probes::DiskCounters> disks;
  probes::ParseDisks(
      "   8       0 sda 10 1 2000 30 40 5 6000 70 1 90 100 0 0 0 0\n"
      "   8       1 sda1 1 1 1 1 1 1 1 1 0 1 1\n"
      " 253 0 short 1 2 3\n"
      " 253 1 odd 1 2 x 4 5 6 7 8 9 10 11\n",
      disks);
  ASSERT_THAT(disks, SizeIs(2));
  EXPECT_EQ(disks[0].name, "sda");
  EXPECT_EQ(disks[0].reads, 10);
  EXPECT_EQ(disks[0].sectors_read, 2000);
  EXPECT_EQ(disks[0].read_ms, 30);
  EXPECT_EQ(disks[0].writes, 40);
  EXPECT_EQ(disks[0].sectors_written, 6000);
  EXPECT_EQ(disks[0].write_ms, 70);
  EXPECT_EQ(disks[0].busy_ms, 90);
  EXPECT_EQ(disks[0].weighted_ms, 100);
  probes::ParseDisks("", disks);
  EXPECT_THAT(disks, IsEmpty());
}

TEST(ParseLinks, AllButLoopback) {
  std::vector<probes::LinkCounters> links;
  probes::ParseLinks(
      "Inter-|   Receive                            |  Transmit\n"
      " face |bytes packets errs drop fifo frame compressed multicast|bytes packets errs drop\n"
      "    lo: 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16\n"
      "  eth0:100 2 3 4 5 6 7 8 900 10 11 12 13 14 15 16\n"
      "  eth1: 1 2 3\n",
      links);
  ASSERT_THAT(links, SizeIs(1));
  EXPECT_EQ(links[0].name, "eth0");
  EXPECT_EQ(links[0].received_bytes, 100);
  EXPECT_EQ(links[0].sent_bytes, 900);
  EXPECT_EQ(links[0].errors, 3 + 11);
  EXPECT_EQ(links[0].drops, 4 + 12);
}

TEST(ParseProtocols, FindsColumnsByTheirNames) {
  const auto counters = probes::ParseProtocols(
      "Ip: a b\nIp: 1 2\nTcp: RtoMin RetransSegs InErrs\nTcp: 200 495 0\n"
      "Udp: InDatagrams NoPorts InErrors OutDatagrams RcvbufErrors SndbufErrors\n"
      "Udp: 10 20 30 40 50 60\n");
  EXPECT_THAT(counters.tcp_sent_again, Optional(495));
  EXPECT_THAT(counters.udp_not_taken, Optional(50));
  const auto none = probes::ParseProtocols("Tcp: RtoMin\nTcp: 200\nUdp: InDatagrams\nUdp: 1\n");
  EXPECT_FALSE(none.tcp_sent_again);
  EXPECT_FALSE(none.udp_not_taken);
  EXPECT_FALSE(probes::ParseProtocols("Tcp: RetransSegs\nTcp: x\n").tcp_sent_again);
  EXPECT_FALSE(probes::ParseProtocols("").tcp_sent_again);
}

}  // namespace
