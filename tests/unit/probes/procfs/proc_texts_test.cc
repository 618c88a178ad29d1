// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/proc_texts.h"

#include <gtest/gtest.h>

namespace {

using probes::ParseCpuInfo;
using probes::ParseCpuTicks;
using probes::ParseMemInfo;
using probes::ParsePressureTotalUs;
using probes::ParseProcessTicks;

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
TEST(ParseCpuTicks, GuestTimeIsNotCountedTwice) {
  const auto ticks = ParseCpuTicks("cpu  100 20 30 400 50 6 7 8 90 10\ncpu0 1 2 3 4\n");
  ASSERT_TRUE(ticks);
  EXPECT_EQ(ticks->busy, 100 + 20 + 30 + 6 + 7);
  EXPECT_EQ(ticks->idle, 450);
  EXPECT_EQ(ticks->steal, 8);
}

TEST(ParseCpuTicks, OldKernelsHaveFewerFields) {
  const auto ticks = ParseCpuTicks("cpu  1 2 3 4\n");
  ASSERT_TRUE(ticks);
  EXPECT_EQ(ticks->busy, 6);
  EXPECT_EQ(ticks->steal, 0);
}

TEST(ParseCpuTicks, RefusesWhatIsNot) {
  for (const char* text : {"", "cpu", "cpu0 1 2 3 4", "cpu 1 2 3", "cpu 1 x 3 4 5", "intr 5"}) {
    EXPECT_FALSE(ParseCpuTicks(text)) << text;
  }
}

// Field numbers of proc_pid_stat(5): ppid 4, utime 14, stime 15, cutime 16, cstime 17,
// starttime 22.
constexpr const char* kFields =
    " S 1 1 1 0 -1 4194560 10 20 30 40 500 60 7 8 20 0 1 0 999 1000 100 184";

TEST(ParseProcessTicks, ReadsTheFieldsOfTheManualPage) {
  const auto process = ParseProcessTicks(std::string("42 (worker)") + kFields);
  ASSERT_TRUE(process);
  EXPECT_EQ(process->pid, 42);
  EXPECT_EQ(process->parent, 1);
  EXPECT_EQ(process->name, "worker");
  EXPECT_EQ(process->own, 560);
  EXPECT_EQ(process->children, 15);
  EXPECT_EQ(process->start, 999);
}

TEST(ParseProcessTicks, NamesMayHoldParenthesesAndSpaces) {
  const auto process = ParseProcessTicks(std::string("42 (a) S 7 (b\x07)") + kFields);
  ASSERT_TRUE(process);
  EXPECT_EQ(process->name, "a) S 7 (b\\x07");
  EXPECT_EQ(process->parent, 1);
}

TEST(ParseProcessTicks, RefusesWhatIsCut) {
  for (const char* text : {"", "42", "42 (", ")42(", "42 (a)", "42 (a) S 1 2 3", "x (a) S 1"}) {
    EXPECT_FALSE(ParseProcessTicks(text)) << text;
  }
  EXPECT_FALSE(ParseProcessTicks(
      "42 (a) S 1 1 1 0 -1 4194560 10 20 30 40 5z0 60 7 8 20 0 1 0 999 1000 100 184"));
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

// https://docs.kernel.org/admin-guide/iostats.html: sectors written is the seventh figure.
}  // namespace
