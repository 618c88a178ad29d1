// SPDX-License-Identifier: Apache-2.0

#include "probes/network/network.h"

#include <set>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/network/routes.h"
#include "tests/support/usb_made_machine.h"

namespace {

using base::Reading;
using probes::ParseRoutes;
using probes::ParseRoutes6;
using probes::ReadNetwork;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

// Fields as printed by fib_route_seq_show() of the Linux kernel, net/ipv4/fib_trie.c.
constexpr const char* kRoutes =
    "Iface\tDestination\tGateway \tFlags\tRefCnt\tUse\tMetric\tMask\t\tMTU\tWindow\tIRTT\n"
    "eth0\t00000000\t0100A8C0\t0003\t0\t0\t100\t00000000\t0\t0\t0\n"
    "eth1\t0000A8C0\t00000000\t0001\t0\t0\t100\t00FFFFFF\t0\t0\t0\n"
    "eth2\t00000000\t00000000\t0201\t0\t0\t100\t00000000\t0\t0\t0\n"
    "eth3\t00000000\t00000000\t0001\t0\t0\t100\t00000080\t0\t0\t0\n";

/// Links of routes that lead everywhere.
std::set<std::string> DefaultLinks(const std::vector<probes::NetworkRoute>& routes) {
  std::set<std::string> links;
  for (const auto& route : routes) {
    if (route.prefix_bits == 0) {
      links.insert(route.link);
    }
  }
  return links;
}

TEST(ParseRoutes, OnlyThoseThatLeadEverywhereAndAreNotRejected) {
  EXPECT_THAT(DefaultLinks(ParseRoutes(kRoutes)), ElementsAre("eth0"));
  EXPECT_THAT(DefaultLinks(ParseRoutes("")), IsEmpty());
  EXPECT_THAT(DefaultLinks(ParseRoutes("eth0 00000000\n")), IsEmpty());
  EXPECT_THAT(DefaultLinks(ParseRoutes("eth0 00000000 0 zz 0 0 0 00000000\n")), IsEmpty());
}

TEST(ParseRoutes6, TheKernelsOwnUnreachableEntryIsNone) {
  constexpr const char* kZero = "00000000000000000000000000000000";
  const std::string zero = kZero;
  const std::string text =
      zero + " 00 " + zero + " 00 fe800000000000000000000000000001 00000400 1 0 00000003 eth0\n" +
      zero + " 00 " + zero + " 00 " + zero + " ffffffff 1 0 00200200 lo\n" +
      "fe800000000000000000000000000000 40 " + zero + " 00 " + zero + " 100 1 0 00000001 eth1\n";
  EXPECT_THAT(DefaultLinks(ParseRoutes6(text)), ElementsAre("eth0"));
  EXPECT_THAT(DefaultLinks(ParseRoutes6("junk\n\n")), IsEmpty());
}

TEST(ReadNetwork, CardsAreListedThoughTheKernelTellsNoState) {
  tests::UsbMadeMachine machine;
  for (const char* name : {"eth0", "eth1", "eth2", "eth3"}) {
    machine.Folder("sys/class/net/" + std::string(name) + "/statistics");
  }
  machine.File("sys/class/net/bonding_masters", "\n");
  const auto network = ReadNetwork(machine.root());
  ASSERT_THAT(network.links, SizeIs(4));
  EXPECT_THAT(network.links[0].up.why_unknown(), HasSubstr("operstate"));
  EXPECT_THAT(network.links[0].mtu_bytes.why_unknown(), HasSubstr("mtu"));
  machine.File("sys/class/net/eth1/operstate", "unknown\n");
  machine.File("sys/class/net/eth1/mtu", "9000\n");
  const auto told = ReadNetwork(machine.root());
  EXPECT_THAT(told.links[1].up.why_unknown(), HasSubstr("carrier"));
  EXPECT_EQ(told.links[1].mtu_bytes, Reading<int>(9000));
}

tests::UsbMadeMachine& AddUsbLink(tests::UsbMadeMachine& machine) {
  const std::string folder = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0/net/eth0";
  machine.File(folder + "/operstate", "up\n");
  machine.File(folder + "/type", "1\n");
  machine.File(folder + "/speed", "1000\n");
  machine.File(folder + "/duplex", "full\n");
  machine.File(folder + "/statistics/rx_errors", "3\n");
  machine.File(folder + "/statistics/rx_dropped", "4\n");
  machine.File(folder + "/statistics/tx_errors", "5\n");
  machine.File(folder + "/statistics/tx_dropped", "6\n");
  machine.Link("sys/class/net/eth0", folder);
  machine.Link("sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0/net/eth0/device",
               "sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0");
  machine.Link("sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0/driver",
               "sys/bus/usb/drivers/made_ether");
  machine.Folder("sys/bus/usb/drivers/made_ether");
  return machine;
}

TEST(ReadNetwork, DescribesALinkOnUsb) {
  tests::UsbMadeMachine machine;
  AddUsbLink(machine);
  machine.File("proc/net/route", kRoutes);
  const auto network = ReadNetwork(machine.root());
  ASSERT_THAT(network.links, SizeIs(1));
  const probes::NetworkLink& link = network.links[0];
  EXPECT_EQ(link.name, "eth0");
  EXPECT_FALSE(link.loopback);
  EXPECT_EQ(link.up, Reading<bool>(true));
  EXPECT_EQ(link.wireless, Reading<bool>(false));
  EXPECT_EQ(link.speed_mbps, Reading<double>(1000));
  EXPECT_EQ(link.duplex, Reading<std::string>("full"));
  EXPECT_EQ(link.driver, Reading<std::string>("made_ether"));
  EXPECT_EQ(link.receive_errors, Reading<std::int64_t>(3));
  EXPECT_EQ(link.receive_drops, Reading<std::int64_t>(4));
  EXPECT_EQ(link.transmit_errors, Reading<std::int64_t>(5));
  EXPECT_EQ(link.transmit_drops, Reading<std::int64_t>(6));
  EXPECT_EQ(link.usb_path, "1-2");
  EXPECT_EQ(link.pci_address, "0000:00:14.0");
  EXPECT_TRUE(link.default_route);
}

TEST(ReadNetwork, LinksThatAreDownOrWithoutSpeedSayWhy) {
  tests::UsbMadeMachine machine;
  machine.File("sys/class/net/wlan0/operstate", "down\n");
  machine.File("sys/class/net/wlan0/speed", "-1\n");
  machine.Folder("sys/class/net/wlan0/wireless");
  machine.File("sys/class/net/lo/operstate", "unknown\n");
  machine.File("sys/class/net/lo/carrier", "1\n");
  machine.File("sys/class/net/lo/type", "772\n");
  machine.File("sys/class/net/bonding_masters", "\n");
  const auto network = ReadNetwork(machine.root());
  ASSERT_THAT(network.links, SizeIs(2));
  EXPECT_TRUE(network.links[0].loopback);
  EXPECT_EQ(network.links[0].up, Reading<bool>(true));
  EXPECT_THAT(network.links[0].speed_mbps.why_unknown(), HasSubstr("no speed"));
  EXPECT_EQ(network.links[1].up, Reading<bool>(false));
  EXPECT_EQ(network.links[1].wireless, Reading<bool>(true));
  EXPECT_THAT(network.links[1].speed_mbps.why_unknown(), HasSubstr("no speed"));
  EXPECT_FALSE(network.links[1].receive_errors);
}

TEST(ReadNetwork, WithoutTheClassNothingIsKnown) {
  tests::UsbMadeMachine machine;
  EXPECT_THAT(ReadNetwork(machine.root()).why_unknown, HasSubstr("/sys/class/net"));
}

}  // namespace
