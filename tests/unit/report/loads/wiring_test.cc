// SPDX-License-Identifier: Apache-2.0
//
// Matching of sources, loads of links, and the wiring as a document shows it.

#include "report/loads/wiring.h"

#include <algorithm>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "tests/support/evidence_builder.h"

namespace report::testing {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;

SourceMatch Match(const Evidence& evidence) {
  return MatchUsbSources(evidence.profile, evidence.demand, evidence.inventory.usb);
}

TEST(MatchUsbSources, NamedDevicesGoFirst) {
  Evidence evidence = GoodEvidence();
  evidence.profile.sources[1].device = "CAPTURE 2-1";
  const SourceMatch match = Match(evidence);
  EXPECT_EQ(match.sources[0].device_path, "4-1");
  EXPECT_EQ(match.sources[1].device_path, "2-1");
}

TEST(MatchUsbSources, APortPathIsMatchedWhole) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  evidence.profile.sources[0].device = "2-1.2";
  EXPECT_EQ(Match(evidence).sources[0].device_path, "2-1.2");
}

TEST(MatchUsbSources, PrefersTheDeviceThatOffersTheMode) {
  Evidence evidence = GoodEvidence();
  auto& devices = evidence.inventory.usb.devices;
  devices[devices.size() - 2].modes[0].pixel_format = "mjpeg";
  evidence.profile.sources.pop_back();
  evidence.demand.sources.pop_back();
  const SourceMatch match = Match(evidence);
  EXPECT_EQ(match.sources[0].device_path, "4-1");
}

TEST(MatchUsbSources, NeverGivesOneDeviceToTwoSources) {
  Evidence evidence = GoodEvidence();
  evidence.profile.sources[0].device = "2-1";
  evidence.profile.sources[1].device = "2-1";
  const SourceMatch match = Match(evidence);
  EXPECT_EQ(match.sources[0].device_path, "2-1");
  EXPECT_EQ(match.sources[1].device_path, "");
}

TEST(LoadUsbLinks, SumsUpEveryTier) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  const auto streams = StreamsOf(evidence.inventory.usb, Match(evidence));
  const auto links = LoadUsbLinks(evidence.inventory.usb, streams);
  for (const char* path : {"2-1", "usb2", "0000:00:14.0"}) {
    ASSERT_NE(FindLink(links, path), nullptr) << path;
    EXPECT_DOUBLE_EQ(FindLink(links, path)->bytes_per_second, 2 * 55.296e6) << path;
  }
  EXPECT_DOUBLE_EQ(FindLink(links, "0000:02:00.0")->bytes_per_second, 0);
}

// Isochronous 24 of 40.96 MB/s and bulk 13.312 of 53.248 MB/s: 58.6 % and 25 % of one link.
TEST(LoadUsbLinks, JudgesIsochronousAndBulkEachByItsOwnRule) {
  Evidence evidence = GoodEvidence();
  auto& devices = evidence.inventory.usb.devices;
  std::erase_if(devices, [](const auto& one) { return one.role == probes::UsbRole::kCapture; });
  devices.push_back(Hub("1-1", "usb1", 1, 480));
  devices.push_back(Capture("1-1.1", "1-1", 1, 480));
  devices.push_back(Capture("1-1.2", "1-1", 1, 480));
  devices.back().interfaces[0].endpoints[0].type = probes::TransferType::kBulk;
  evidence.demand.sources[0].bytes_per_second = 24e6;
  evidence.demand.sources[1].bytes_per_second = 13.312e6;
  const auto streams = StreamsOf(evidence.inventory.usb, Match(evidence));
  const auto links = LoadUsbLinks(evidence.inventory.usb, streams);
  const UsbLink* hub = FindLink(links, "1-1");
  ASSERT_NE(hub, nullptr);
  EXPECT_NEAR(*UsedPercent(*hub), 100 * (24 / 40.96 + 13.312 / 53.248), 1e-9);
  EXPECT_NEAR(*UsedPercent(*FindLink(links, "1-1.2")), 25, 1e-9);
}

// Linux xhci.h: every root port has the time of a whole bus; ehci-sched.c: all share one.
TEST(LoadUsbLinks, DividesTimeByRootPortOrByBus) {
  Evidence evidence = GoodEvidence();
  auto& usb = evidence.inventory.usb;
  std::erase_if(usb.devices, [](const auto& one) { return one.role == probes::UsbRole::kCapture; });
  usb.devices.push_back(Capture("1-1", "usb1", 1, 480));
  usb.devices.push_back(Capture("1-2", "usb1", 1, 480));
  const auto streams = StreamsOf(usb, Match(evidence));
  const auto apart = LoadUsbLinks(usb, streams);
  EXPECT_FALSE(FindLink(apart, "usb1")->reservable_us);
  EXPECT_DOUBLE_EQ(FindLink(apart, "1-1")->reserved.least_us, 3186.0 / 60);
  usb.controllers[0].driver = std::string("ehci-pci");
  const auto together = LoadUsbLinks(usb, streams);
  EXPECT_DOUBLE_EQ(FindLink(together, "usb1")->reserved.least_us, 122);
  EXPECT_NEAR(*UsedPercent(*FindLink(together, "usb1")), 270, 0.01);  // 110.6 of 40.96 MB/s
}

TEST(LoadUsbLinks, IdleDevicesLoadNothing) {
  Evidence evidence = GoodEvidence();
  evidence.profile.sources.pop_back();
  evidence.demand.sources.pop_back();
  const Document document = Assess(evidence);
  ASSERT_EQ(document.streams.size(), 2U);
  EXPECT_EQ(document.streams[1].source, "");
  EXPECT_GT(document.streams[1].reserved_us, 0);
  for (const WiringNode& node : document.wiring) {
    if (node.path == "4-1") {
      EXPECT_EQ(node.demand_bytes_per_second, 0);
      EXPECT_EQ(node.reserved_us, 0);
      EXPECT_THAT(node.remark, ::testing::HasSubstr("no source uses it"));
    }
  }
}

// Four cameras of one packet of 1024 bytes hold 70.8 us by the standard and 87.7 us by the kernel's
// blocks (xhci.h); five 88.5 and 109.7, six 106.2 and 131.6, of 100.
TEST(UsbTimeRow, IsUnprovenWhereTheControllerDecides) {
  for (const int cameras : {4, 5, 6}) {
    Evidence evidence = GoodEvidence();
    auto& devices = evidence.inventory.usb.devices;
    std::erase_if(devices, [](const auto& one) { return one.role == probes::UsbRole::kCapture; });
    devices.push_back(Hub("1-1", "usb1", 1, 480));
    evidence.profile.sources.clear();
    evidence.demand.sources.clear();
    for (int i = 1; i <= cameras; ++i) {
      devices.push_back(Capture("1-1." + std::to_string(i), "1-1", 1, 480));
      devices.back().modes.clear();
      devices.back().interfaces[0].endpoints[0].bytes_per_interval = 1024;
      AddSource(evidence, "Camera " + std::to_string(i), 4e6);
    }
    const Document document = Assess(evidence);
    const auto row = std::find_if(
        document.headroom.begin(), document.headroom.end(),
        [](const Headroom& one) { return one.resource == Resource::kUsb && one.unit == "us"; });
    ASSERT_NE(row, document.headroom.end()) << cameras;
    EXPECT_EQ(row->capacity.has_value(), cameras != 5) << cameras;
    EXPECT_EQ(Find(document, "usb-no-bandwidth") != nullptr, cameras == 6) << cameras;
  }
}

TEST(LoadUsbLinks, SurvivesAHubThatIsItsOwnAncestor) {
  Evidence evidence = GoodEvidence();
  auto& devices = evidence.inventory.usb.devices;
  devices.push_back(Hub("2-2", "2-2", 2, 5000));
  devices.push_back(Hub("2-3", "2-4", 2, 5000));
  devices.push_back(Hub("2-4", "2-3", 2, 5000));
  devices.push_back(RootHub(2, 5000));
  EXPECT_FALSE(Assess(evidence).wiring.empty());
}

TEST(Wiring, IsDepthFirstWithControllersAtTheTop) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 1);
  std::vector<std::string> paths;
  std::vector<int> depths;
  for (const WiringNode& node : Assess(evidence).wiring) {
    paths.push_back(node.path);
    depths.push_back(node.depth);
  }
  EXPECT_THAT(paths, ElementsAre("0000:00:14.0", "usb1", "usb2", "2-1", "2-1.1", "0000:02:00.0",
                                 "usb3", "usb4"));
  EXPECT_THAT(depths, ElementsAre(0, 1, 1, 2, 3, 0, 1, 1));
}

TEST(Wiring, PutsFindingsOnTheNodesThatTheyAreAbout) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  const Document document = Assess(evidence);
  for (const WiringNode& node : document.wiring) {
    const bool named = node.path == "2-1" || node.path == "2-1.1" || node.path == "2-1.2";
    EXPECT_EQ(::testing::Value(node.finding_ids, Contains("usb-shared-hub")), named) << node.path;
  }
}

// What a device calls itself is no address: this one bears the other's path in its name.
TEST(Wiring, LaysNoFindingOnADeviceThatANameMentions) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.usb.devices.push_back(Hub("1-2", "usb1", 1, 480));
  evidence.inventory.usb.devices.push_back(Capture("1-2.1", "1-2", 1, 480));
  evidence.inventory.usb.devices.push_back(Capture("1-2.2", "1-2", 1, 480));
  for (auto& device : evidence.inventory.usb.devices) {
    if (device.path == "1-2.1") {
      device.product = "Capture HD 4-1";
    }
  }
  const Document document = Assess(evidence);
  ASSERT_NE(Find(document, "usb-shared-hub"), nullptr);
  for (const WiringNode& node : document.wiring) {
    if (node.path == "4-1") {
      EXPECT_THAT(node.finding_ids, ::testing::IsEmpty());
    }
  }
}

}  // namespace
}  // namespace report::testing
