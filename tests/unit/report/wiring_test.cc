// SPDX-License-Identifier: Apache-2.0
//
// Matching of sources, loads of links, and the wiring as a document shows it.

#include "report/wiring.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess.h"
#include "tests/unit/report/evidence_builder.h"

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
  EXPECT_THAT(match.idle_devices, ElementsAre("2-1"));
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
  const auto links = LoadUsbLinks(evidence.inventory.usb, Match(evidence));
  for (const char* path : {"2-1", "usb2", "0000:00:14.0"}) {
    ASSERT_NE(FindLink(links, path), nullptr) << path;
    EXPECT_DOUBLE_EQ(FindLink(links, path)->bytes_per_second, 2 * 55.296e6) << path;
  }
  EXPECT_DOUBLE_EQ(FindLink(links, "0000:02:00.0")->bytes_per_second, 0);
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

TEST(Wiring, PutsFindingsOnTheNodesThatTheyName) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  const Document document = Assess(evidence);
  for (const WiringNode& node : document.wiring) {
    const bool named = node.path == "2-1" || node.path == "2-1.1" || node.path == "2-1.2";
    EXPECT_EQ(::testing::Value(node.finding_ids, Contains("usb-shared-hub")), named) << node.path;
  }
}

TEST(NamesPath, TakesWholePathsOnly) {
  EXPECT_TRUE(NamesPath("capture X (2-1) at 480", "2-1"));
  EXPECT_TRUE(NamesPath("it hangs on 2-1.", "2-1"));
  EXPECT_TRUE(NamesPath("hub 2-1: 5 MB/s", "2-1"));
  EXPECT_FALSE(NamesPath("capture X (2-1.4)", "2-1"));
  EXPECT_FALSE(NamesPath("capture X (12-1)", "2-1"));
  EXPECT_FALSE(NamesPath("anything", ""));
}

}  // namespace
}  // namespace report::testing
