// SPDX-License-Identifier: Apache-2.0

#include "probes/network/routes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/captured/capture_contents.h"
#include "probes/network/network.h"
#include "tests/support/usb_made_machine.h"

namespace {

using probes::NetworkRoute;
using probes::ParseRoutes;
using probes::ParseRoutes6;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

// Fields as printed by fib_route_seq_show() of the Linux kernel, net/ipv4/fib_trie.c; the
// numbers are those of a machine that puts the least byte first.
constexpr const char* kRoutes =
    "Iface\tDestination\tGateway \tFlags\tRefCnt\tUse\tMetric\tMask\t\tMTU\tWindow\tIRTT\n"
    "eth0\t00000000\t0100A8C0\t0003\t0\t0\t100\t00000000\t0\t0\t0\n"
    "eth1\t0000A8C0\t00000000\t0001\t0\t0\t101\t00FFFFFF\t0\t0\t0\n"
    "eth1\t000010AC\t00000000\t0001\t0\t0\t0\t0000F0FF\t0\t0\t0\n"
    "eth2\t000200C0\t00000000\t0001\t0\t0\t0\t00FFFFFF\t0\t0\t0\n"
    "eth3\t0000A8C0\t00000000\t0201\t0\t0\t0\t00FFFFFF\t0\t0\t0\n"
    "eth4\t0000A8C0\t00000000\t0000\t0\t0\t0\t00FFFFFF\t0\t0\t0\n";

void ExpectRoute(const NetworkRoute& route, const char* destination, int bits, int metric,
                 const char* link) {
  EXPECT_EQ(route.destination, destination);
  EXPECT_EQ(route.prefix_bits, bits);
  EXPECT_EQ(route.metric, metric);
  EXPECT_EQ(route.link, link);
}

TEST(ParseRoutes, ReadsWhatIsUpAndDoesNotReject) {
  const auto routes = ParseRoutes(kRoutes);
  ASSERT_THAT(routes, SizeIs(4));
  ExpectRoute(routes[0], "0.0.0.0", 0, 100, "eth0");
  ExpectRoute(routes[1], "192.168.0.0", 24, 101, "eth1");
  ExpectRoute(routes[2], "172.16.0.0", 12, 0, "eth1");
  ExpectRoute(routes[3], "192.0.2.0", 24, 0, "eth2");
}

TEST(ParseRoutes, JunkAndMasksWithHolesAreNone) {
  EXPECT_THAT(ParseRoutes(""), IsEmpty());
  EXPECT_THAT(ParseRoutes("eth0 0000A8C0\n"), IsEmpty());
  EXPECT_THAT(ParseRoutes("eth0 0000A8C0 0 0001 0 0 0 00FF00FF\n"), IsEmpty());
  EXPECT_THAT(ParseRoutes("eth0 A8C0 0 0001 0 0 0 00FFFFFF\n"), IsEmpty());
  EXPECT_THAT(ParseRoutes("eth0 0000A8C0 0 0001 0 0 -5 zzzzzzzz\n"), IsEmpty());
  EXPECT_THAT(ParseRoutes("lo 0000007F 0 0001 0 0 0 000000FF\n"), IsEmpty());
}

std::string Line6(const char* destination, const char* bits, const char* metric, const char* flags,
                  const char* link) {
  const std::string zero(32, '0');
  return std::string(destination) + " " + bits + " " + zero + " 00 " + zero + " " + metric +
         " 00000001 00000000 " + flags + " " + link + "\n";
}

// Columns of ip6_route seq files: net/ipv6/route.c; flags of linux/ipv6_route.h (RTF_LOCAL).
TEST(ParseRoutes6, LeavesOutTheOwnAddressesSingleLinksAndGroups) {
  const std::string text =
      Line6("20010db8000100020000000000000000", "40", "00000100", "00000001", "eth0") +
      Line6("20010db8000100020000000000000007", "80", "00000000", "80200001", "eth0") +
      Line6("fe800000000000000000000000000000", "40", "00000100", "00000001", "eth0") +
      Line6("ff000000000000000000000000000000", "08", "00000100", "00000001", "eth0") +
      Line6("00000000000000000000000000000001", "80", "00000000", "80200001", "lo") +
      Line6("00000000000000000000000000000000", "00", "00000400", "00000003", "eth0") +
      Line6("00000000000000000000000000000000", "00", "ffffffff", "00200200", "lo");
  const auto routes = ParseRoutes6(text);
  ASSERT_THAT(routes, SizeIs(2));
  ExpectRoute(routes[0], "2001:db8:1:2::", 64, 256, "eth0");
  ExpectRoute(routes[1], "::", 0, 1024, "eth0");
  EXPECT_THAT(ParseRoutes6("junk\n\n"), IsEmpty());
}

TEST(ReadNetwork, TellsRoutesAndWhatABridgeStandsOn) {
  tests::UsbMadeMachine machine;
  machine.File("sys/devices/virtual/net/br0/operstate", "up\n");
  machine.Link("sys/devices/virtual/net/br0/lower_eth0", "sys/devices/made/net/eth0");
  machine.File("sys/devices/made/net/eth0/operstate", "up\n");
  machine.Link("sys/class/net/br0", "sys/devices/virtual/net/br0");
  machine.Link("sys/class/net/eth0", "sys/devices/made/net/eth0");
  EXPECT_FALSE(probes::ReadNetwork(machine.root()).routes);
  machine.File("proc/net/route", kRoutes);
  const auto network = probes::ReadNetwork(machine.root());
  ASSERT_THAT(network.links, SizeIs(2));
  EXPECT_THAT(network.links[0].lower, testing::ElementsAre("eth0"));
  EXPECT_THAT(network.links[1].lower, IsEmpty());
  ASSERT_TRUE(network.routes);
  EXPECT_THAT(*network.routes, SizeIs(4));
}

// A captured machine keeps the routes that many places have, and none that tells where it is.
TEST(CleanRoutes, KeepsNetworksOfNoPlaceOnly) {
  probes::PrivateNames names({}, {});
  probes::LeftOut left_out;
  const std::string clean = probes::CleanRoutes(kRoutes, names, left_out);
  EXPECT_THAT(clean, Not(HasSubstr("0100A8C0")));
  const auto routes = ParseRoutes(clean);
  ASSERT_THAT(routes, SizeIs(3));
  EXPECT_EQ(routes[1].destination, "192.168.0.0");
  EXPECT_THAT(clean, Not(HasSubstr("000200C0")));
  const std::string text6 =
      Line6("fd000000000000010000000000000000", "40", "00000100", "00000001", "eth0") +
      Line6("20010db8000100020000000000000000", "40", "00000100", "00000001", "eth0");
  const auto routes6 = ParseRoutes6(probes::CleanRoutes6(text6, names, left_out));
  ASSERT_THAT(routes6, SizeIs(1));
  EXPECT_EQ(routes6[0].destination, "fd00:0:0:1::");
  EXPECT_GE(left_out.route_lines, 2U);
}

}  // namespace
