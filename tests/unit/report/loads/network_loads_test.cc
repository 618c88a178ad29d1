// SPDX-License-Identifier: Apache-2.0

#include "report/loads/network_loads.h"

#include <algorithm>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "tests/support/evidence_builder.h"

namespace report::testing {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::SizeIs;

probes::NetworkLink Link(const std::string& name, double mbps, bool default_route) {
  probes::NetworkLink link;
  link.name = name;
  link.up = true;
  link.wireless = false;
  link.speed_mbps = mbps;
  link.duplex = std::string("full");
  link.default_route = default_route;
  return link;
}

/// eth0 leads out, eth1 to the cameras' net, eth2 to one half of it at a better metric.
probes::NetworkInventory ThreeLinks() {
  probes::NetworkInventory network;
  network.links = {Link("eth0", 1000, true), Link("eth1", 100, false), Link("eth2", 2500, false)};
  network.routes = std::vector<probes::NetworkRoute>{{"0.0.0.0", 0, 100, "eth0"},
                                                     {"10.1.0.0", 16, 100, "eth1"},
                                                     {"10.1.2.0", 24, 600, "eth2"},
                                                     {"10.1.2.0", 24, 700, "eth1"},
                                                     {"fd00::", 8, 100, "eth1"}};
  return network;
}

// RFC 1812 section 5.2.4.3: the longest match, whatever its metric.
TEST(WayTo, TakesTheLongestPrefixThenTheLowestMetric) {
  const auto network = ThreeLinks();
  EXPECT_EQ(WayTo(network, "10.1.9.9").link, "eth1");
  EXPECT_EQ(WayTo(network, "10.1.2.9").link, "eth2");
  EXPECT_EQ(WayTo(network, "10.1.2.9").why, "route 10.1.2.0/24");
  EXPECT_EQ(WayTo(network, "192.0.2.1").link, "eth0");
  EXPECT_EQ(WayTo(network, "192.0.2.1").why, "by default route");
  EXPECT_EQ(WayTo(network, "fd00::7").link, "eth1");
}

TEST(WayTo, NoRouteIsNoLink) {
  const auto network = ThreeLinks();
  EXPECT_EQ(WayTo(network, "2001:db8::1").link, "");
  EXPECT_THAT(WayTo(network, "2001:db8::1").why, HasSubstr("no route"));
  EXPECT_THAT(WayTo({}, "192.0.2.1").why, HasSubstr("no link with a default route"));
}

TEST(WayTo, AddressesOfThisPcStayInside) {
  for (const char* host : {"127.0.0.1", "::1", "localhost"}) {
    EXPECT_TRUE(WayTo(ThreeLinks(), host).inside) << host;
  }
}

TEST(WayTo, NamesGoByDefaultUntilTheResolverWasAsked) {
  auto network = ThreeLinks();
  EXPECT_EQ(WayTo(network, "cams.example.org").link, "eth0");
  EXPECT_EQ(WayTo(network, "cams.example.org").why, "by default route, name not resolved");
  network.resolved.push_back({"cams.example.org", std::string("10.1.2.3")});
  EXPECT_EQ(WayTo(network, "cams.example.org").link, "eth2");
  EXPECT_EQ(WayTo(network, "cams.example.org").why, "10.1.2.3, route 10.1.2.0/24");
  network.resolved[0].address = base::Reading<std::string>::Unknown("no such name");
  EXPECT_EQ(WayTo(network, "cams.example.org").link, "eth0");
  EXPECT_THAT(WayTo(network, "cams.example.org").why, HasSubstr("no such name"));
}

void AddStream(Evidence& e, const std::string& name, const std::string& url, double bits) {
  profiles::Output output = e.profile.outputs[1];
  output.name = name;
  output.url = url;
  e.profile.outputs.push_back(output);
  profiles::OutputDemand demand;
  demand.name = name;
  demand.network_bits_per_second = bits;
  e.demand.outputs.push_back(demand);
}

void AddNetworkSource(Evidence& e, const std::string& device, double bits) {
  profiles::Source source;
  source.name = "Far " + std::to_string(e.profile.sources.size());
  source.arrives_by = profiles::ArrivesBy::kNetwork;
  source.device = device;
  e.profile.sources.push_back(source);
  profiles::SourceDemand demand;
  demand.name = source.name;
  demand.network_bits_per_second = bits;
  e.demand.sources.push_back(demand);
}

TEST(NetworkLoads, SumsStreamsAndSourcesByLink) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.network = ThreeLinks();
  AddStream(evidence, "Air", "rtmp://10.1.9.9", 4e6);
  AddStream(evidence, "Stay", "udp://127.0.0.1:5000", 9e6);
  AddNetworkSource(evidence, "eth1", 8e6);
  AddNetworkSource(evidence, "10.1.2.8", 7e6);
  AddNetworkSource(evidence, "any text", 1e6);
  const auto loads = NetworkLoads(evidence);
  ASSERT_THAT(loads, SizeIs(3));
  EXPECT_EQ(loads[0].link, "eth1");
  EXPECT_EQ(loads[0].in_bits_per_second, 8e6);
  EXPECT_EQ(loads[0].out_bits_per_second, 4e6);
  EXPECT_TRUE(loads[0].abroad);
  EXPECT_THAT(loads[0].out_lines, ElementsAre("Air to 10.1.9.9: route 10.1.0.0/16"));
  EXPECT_EQ(loads[1].link, "eth2");
  EXPECT_EQ(loads[1].in_bits_per_second, 7e6);
  EXPECT_EQ(loads[2].link, "eth0");
  EXPECT_EQ(loads[2].in_bits_per_second, 1e6);
  EXPECT_EQ(loads[2].out_bits_per_second, 6.5e6);  // the stream to the program's own sink
  EXPECT_FALSE(loads[2].abroad);
}

TEST(NetworkHeadroom, EachLinkHasItsOwnRow) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.network = ThreeLinks();
  AddNetworkSource(evidence, "eth1", 90e6);
  const Document document = Assess(evidence);
  const auto on = [&](const std::string& item) {
    const auto row = std::find_if(document.headroom.begin(), document.headroom.end(),
                                  [&](const Headroom& one) { return one.item == item; });
    return row == document.headroom.end() ? Headroom{} : *row;
  };
  EXPECT_NEAR(*on("in on eth1").headroom_percent, 10, 1e-9);
  EXPECT_EQ(*on("out on eth0").capacity, 1e9);
}

TEST(NetworkHeadroom, ABridgeTakesTheSpeedOfTheOneLinkBelowIt) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.network = ThreeLinks();
  auto& links = evidence.inventory.network.links;
  links[0].name = "br0";
  links[0].speed_mbps = base::Reading<double>::Unknown("a bridge");
  links[0].lower = {"eth1"};
  evidence.inventory.network.routes = base::Reading<std::vector<probes::NetworkRoute>>::Unknown("");
  Document document = Assess(evidence);
  EXPECT_EQ(*Row(document, "network")->capacity, 100e6);
  EXPECT_THAT(Row(document, "network")->source, HasSubstr("of eth1 below it"));
  evidence.inventory.network.links[0].lower = {"eth1", "eth2"};
  document = Assess(evidence);
  EXPECT_EQ(Row(document, "network"), nullptr);
}

TEST(NoRoute, IsFoundForAStreamThatLeadsNowhere) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.network = ThreeLinks();
  AddStream(evidence, "Air", "srt://[2001:db8::1]:9000", 4e6);
  const Document document = Assess(evidence);
  const Finding* finding = Find(document, "network-no-route");
  ASSERT_NE(finding, nullptr);
  EXPECT_THAT(finding->evidence, Contains(HasSubstr("no route leads to 2001:db8::1")));
}

}  // namespace
}  // namespace report::testing
