// SPDX-License-Identifier: Apache-2.0
//
// Texts of the kernel that only watching reads.

#include "probes/procfs/watch_texts.h"

#include <string>
#include <utility>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using testing::Optional;
using testing::Pair;
using testing::SizeIs;

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

TEST(ParseDatagramsDropped, ByTheNameOfTheColumn) {
  EXPECT_THAT(probes::ParseDatagramsDropped(
                  "Tcp: RetransSegs\nTcp: 5\n"
                  "Udp: InDatagrams NoPorts InErrors OutDatagrams RcvbufErrors SndbufErrors\n"
                  "Udp: 10 20 30 40 50 60\n"),
              Optional(50));
  EXPECT_FALSE(probes::ParseDatagramsDropped("Udp: InDatagrams\nUdp: 1\n"));
  EXPECT_FALSE(probes::ParseDatagramsDropped(""));
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

TEST(ParseInterruptTicks, HardAndSoftOfEachCpu) {
  EXPECT_THAT(probes::ParseInterruptTicks("cpu  9 9 9 9 9 9 9 9\ncpu0 1 2 3 4 5 6 7 8\n"
                                          "cpu1 1 1 1 1 1 10 20 1\nintr 5\n"),
              ElementsAre(13, 30));
}

TEST(ParseProcessState, BehindANameWithParentheses) {
  EXPECT_EQ(probes::ParseProcessState("7 (a) b) T 1 1"), 'T');
  EXPECT_EQ(probes::ParseProcessState("7 (a)"), '\0');
  EXPECT_EQ(probes::ParseProcessState(""), '\0');
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

TEST(ParseWrittenChars, OfIo) {
  EXPECT_THAT(probes::ParseWrittenChars("rchar: 5\nwchar: 77\nsyscr: 1\n"), Optional(77));
  EXPECT_FALSE(probes::ParseWrittenChars("rchar: 5\n"));
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
