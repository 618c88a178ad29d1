// SPDX-License-Identifier: Apache-2.0
//
// Texts of the kernel about one process.

#include "probes/procfs/process_texts.h"

#include <string>
#include <utility>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using probes::ParseProcessTicks;
using testing::Optional;
using testing::Pair;
using testing::SizeIs;

// Field numbers of proc_pid_stat(5): state 3, ppid 4, majflt 12, utime 14, stime 15, cutime 16,
// cstime 17, num_threads 20, starttime 22.
constexpr const char* kFields =
    " S 1 1 1 0 -1 4194560 10 20 30 40 500 60 7 8 20 0 3 0 999 1000 100 184";

TEST(ParseProcessTicks, ReadsTheFieldsOfTheManualPage) {
  const auto process = ParseProcessTicks(std::string("42 (worker)") + kFields);
  ASSERT_TRUE(process);
  EXPECT_EQ(process->pid, 42);
  EXPECT_EQ(process->parent, 1);
  EXPECT_EQ(process->name, "worker");
  EXPECT_EQ(process->own, 560);
  EXPECT_EQ(process->children, 15);
  EXPECT_EQ(process->start, 999);
  EXPECT_EQ(process->major_faults, 30);
  EXPECT_EQ(process->threads, 3);
  EXPECT_EQ(process->state, 'S');
}

TEST(ParseProcessTicks, NamesMayHoldParenthesesAndSpaces) {
  const auto process = ParseProcessTicks(std::string("42 (a) S 7 (b\x07)") + kFields);
  ASSERT_TRUE(process);
  EXPECT_EQ(process->name, "a) S 7 (b\\x07");
  EXPECT_EQ(process->parent, 1);
  EXPECT_EQ(ParseProcessTicks("7 (a) b) T 1 1 1 0 -1 0 0 0 0 0 1 1 1 1 20 0 1 0 9")->state, 'T');
}

TEST(ParseProcessTicks, RefusesWhatIsCut) {
  for (const char* text : {"", "42", "42 (", ")42(", "42 (a)", "42 (a) S 1 2 3", "x (a) S 1"}) {
    EXPECT_FALSE(ParseProcessTicks(text)) << text;
  }
  EXPECT_FALSE(ParseProcessTicks(
      "42 (a) S 1 1 1 0 -1 4194560 10 20 30 40 5z0 60 7 8 20 0 1 0 999 1000 100 184"));
}

TEST(ParseThreadTimes, HasTimeOnACpuAndTimeWithoutOne) {
  const auto times = probes::ParseThreadTimes("139397 1426897 2\n");
  ASSERT_TRUE(times);
  EXPECT_EQ(times->run_ns, 139397);
  EXPECT_EQ(times->wait_ns, 1426897);
  EXPECT_FALSE(probes::ParseThreadTimes(""));
  EXPECT_FALSE(probes::ParseThreadTimes("12"));
}

TEST(ParseProcessIo, WhatWasHandedToCallsAndWhatDisksDid) {
  const auto io = probes::ParseProcessIo(
      "rchar: 5\nwchar: 77\nsyscr: 1\nsyscw: 1\nread_bytes: 100\nwrite_bytes: 50\n"
      "cancelled_write_bytes: 30\n");
  EXPECT_THAT(io.written_chars, Optional(77));
  EXPECT_THAT(io.disk_bytes, Optional(120));
  EXPECT_FALSE(probes::ParseProcessIo("rchar: 5\n").written_chars);
  EXPECT_FALSE(probes::ParseProcessIo("wchar: 5\nread_bytes: 1\nwrite_bytes: 1\n").disk_bytes);
  EXPECT_THAT(probes::ParseProcessIo("read_bytes: 0\nwrite_bytes: 1\ncancelled_write_bytes: 9\n")
                  .disk_bytes,
              Optional(0));
}

TEST(ParseResidentPages, AreTheSecondNumber) {
  EXPECT_THAT(probes::ParseResidentPages("5000 1234 300 1 0 99 0\n"), Optional(1234));
  EXPECT_FALSE(probes::ParseResidentPages("5000\n"));
}

TEST(ParseSendQueues, OfOurEstablishedSockets) {
  // Rows as https://docs.kernel.org/networking/proc_net_tcp.html describes them.
  const std::string text =
      "  sl  local_address rem_address   st tx_queue rx_queue tr tm->when retrnsmt   uid  timeout "
      "inode\n"
      "   0: 0100007F:1F90 00000000:0000 0A 00000000:00000005 00:00000000 00000000  0  0 10 1 0\n"
      "   1: 0100007F:1F90 0100007F:D431 01 0000001F:00000000 01:00000014 00000000  0  0 11 1 0\n"
      "   2: 0100007F:1F91 0100007F:D432 01 00000100:00000000 01:00000014 00000000  0  0 12 1 0\n"
      "   3: 0100007F:1F92 0100007F:D433 01 00001000:00000000 01:00000014 00000000  0  0 13 1 0\n";
  EXPECT_THAT(probes::ParseSendQueues(text, {10, 11, 12}), Optional(0x1F + 0x100));
  EXPECT_FALSE(probes::ParseSendQueues(text, {10}));
  EXPECT_FALSE(probes::ParseSendQueues(text, {}));
  EXPECT_FALSE(probes::ParseSendQueues("", {11}));
}

TEST(ParseConnections, EndsOfOurEstablishedSockets) {
  // 127.0.0.1 as a little-endian host prints its word, and ::1 in four of them.
  const std::string text =
      "   1: 0100007F:1F90 0100007F:D431 01 0000001F:00000000 01:00000014 00000000  0  0 11 1 0\n"
      "   2: 00000000000000000000000001000000:1F91 00000000000000000000000001000000:D432 01 "
      "00000100:00000000 01:00000014 00000000  0  0 12 1 0\n"
      "   3: 0100007F:1F90 00000000000000000000000001000000:D432 01 0:0 1:1 0  0  0 13 1 0\n"
      "   4: 0100007:1F90 0100007F:D431 01 0:0 1:1 0  0  0 14 1 0\n"
      "   5: 0100007F:1F90 0100007F:D4310 01 0:0 1:1 0  0  0 15 1 0\n";
  const auto found = probes::ParseConnections(text, {11, 12, 13, 14, 15});
  ASSERT_EQ(found.size(), 2U);
  EXPECT_FALSE(found[0].v6);
  EXPECT_EQ(found[0].local[0], 127);
  EXPECT_EQ(found[0].local[3], 1);
  EXPECT_EQ(found[0].local_port, 0x1F90);
  EXPECT_EQ(found[0].remote_port, 0xD431);
  EXPECT_TRUE(found[1].v6);
  EXPECT_EQ(found[1].remote[15], 1);
  EXPECT_TRUE(probes::ParseConnections(text, {16}).empty());
}

TEST(ParseSocketLink, TakesNothingElse) {
  EXPECT_THAT(probes::ParseSocketLink("socket:[4711]"), Optional(4711));
  EXPECT_FALSE(probes::ParseSocketLink("socket:[x]"));
  EXPECT_FALSE(probes::ParseSocketLink("socket:[5"));
  EXPECT_FALSE(probes::ParseSocketLink("/tmp/socket:[5]"));
}

TEST(ParseOpenFile, PositionAccessAndMount) {
  // O_WRONLY is 1, O_RDWR is 2, O_RDONLY is 0 (open(2)); flags are octal.
  const auto writing = probes::ParseOpenFile("pos:\t4096\nflags:\t0100001\nmnt_id:\t29\nino:\t5\n");
  ASSERT_TRUE(writing);
  EXPECT_EQ(writing->position, 4096);
  EXPECT_TRUE(writing->for_writing);
  EXPECT_EQ(writing->mount, 29);
  EXPECT_TRUE(probes::ParseOpenFile("pos:\t0\nflags:\t02\n")->for_writing);
  EXPECT_FALSE(probes::ParseOpenFile("pos:\t0\nflags:\t0100000\n")->for_writing);
  EXPECT_FALSE(probes::ParseOpenFile("nothing\n"));
}

TEST(ParseSystemCall, NumberAndFirstArgument) {
  EXPECT_THAT(probes::ParseSystemCall("1 0x1f 0x7ffd 0x10 0x0 0x0 0x0 0x7ffd 0x7f\n"),
              Optional(Pair(1, 31)));
  EXPECT_FALSE(probes::ParseSystemCall("running\n"));
  EXPECT_FALSE(probes::ParseSystemCall("-1 0x7ffd 0x7f\n"));
  EXPECT_FALSE(probes::ParseSystemCall(""));
}

/// The example of https://docs.kernel.org/gpu/xe/xe-drm-usage-stats.html, its engines.
constexpr const char* kCyclesText =
    "pos:    0\nflags:  0100002\nmnt_id: 26\nino:    685\ndrm-driver:     xe\n"
    "drm-client-id:  3\ndrm-pdev:       0000:03:00.0\ndrm-total-system:       0\n"
    "drm-cycles-rcs: 28257900\ndrm-total-cycles-rcs:   7655183225\n"
    "drm-cycles-vcs: 0\ndrm-total-cycles-vcs:   7655183225\ndrm-engine-capacity-vcs:        2\n";

TEST(ParseDrmClient, OfADriverThatCountsCycles) {
  const auto client = probes::ParseDrmClient(kCyclesText);
  ASSERT_TRUE(client);
  EXPECT_EQ(client->driver, "xe");
  EXPECT_EQ(client->device, "0000:03:00.0");
  EXPECT_EQ(client->id, 3);
  ASSERT_THAT(client->engines, SizeIs(2));
  EXPECT_EQ(client->engines[0].name, "rcs");
  EXPECT_EQ(client->engines[0].busy_cycles, 28257900);
  EXPECT_EQ(client->engines[0].total_cycles, 7655183225);
  EXPECT_EQ(client->engines[0].capacity, 1);
  EXPECT_EQ(client->engines[1].name, "vcs");
  EXPECT_EQ(client->engines[1].capacity, 2);
}

TEST(ParseDrmClient, OfADriverThatCountsTime) {
  // Keys and values as https://docs.kernel.org/gpu/drm-usage-stats.html defines them.
  const auto client = probes::ParseDrmClient(
      "drm-driver: i915\ndrm-pdev: 0000:00:02.0\ndrm-client-id: 7\n"
      "drm-engine-render: 25662044495 ns\ndrm-engine-copy: 0 ns\n"
      "drm-engine-video: 1000 ns\ndrm-engine-capacity-video: 2\n");
  ASSERT_TRUE(client);
  ASSERT_THAT(client->engines, SizeIs(3));
  EXPECT_EQ(client->engines[0].name, "render");
  EXPECT_EQ(client->engines[0].busy_ns, 25662044495);
  EXPECT_EQ(client->engines[2].busy_ns, 1000);
  EXPECT_EQ(client->engines[2].capacity, 2);
}

TEST(ParseDrmClient, WhatIsNoGraphicsDeviceAndWhatIsOdd) {
  EXPECT_FALSE(probes::ParseDrmClient("pos:\t0\nflags:\t02\n"));
  EXPECT_FALSE(probes::ParseDrmClient(""));
  const auto odd = probes::ParseDrmClient(
      "drm-driver: x\ndrm-engine-: 5 ns\ndrm-engine-a: -5 ns\ndrm-engine-b: many ns\n"
      "drm-engine-capacity-c: 0\ndrm-engine-c: 5 ns\n");
  ASSERT_TRUE(odd);
  ASSERT_THAT(odd->engines, SizeIs(1));
  EXPECT_EQ(odd->engines[0].capacity, 1);
  std::string many = "drm-driver: x\n";
  for (int i = 0; i < 1000; ++i) {
    many += "drm-engine-e" + std::to_string(i) + ": 1 ns\n";
  }
  EXPECT_THAT(probes::ParseDrmClient(many)->engines, SizeIs(64));
}

}  // namespace
