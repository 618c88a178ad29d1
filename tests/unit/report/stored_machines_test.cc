// SPDX-License-Identifier: Apache-2.0
//
// Captured machines through the probe and the rules: shared hubs are found, clean controllers stay
// so.

#include <algorithm>
#include <filesystem>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/machine_root.h"
#include "probes/usb_tree.h"
#include "report/assess.h"
#include "report/wiring.h"
#include "tests/unit/report/evidence_builder.h"

namespace report::testing {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;

// The good PC with the USB tree of a captured one and as many sources.
Document AssessTree(const std::string& machine, int sources, double bytes_per_second) {
  Evidence evidence = GoodEvidence();
  evidence.profile.sources.clear();
  evidence.demand.sources.clear();
  for (int i = 1; i <= sources; ++i) {
    AddSource(evidence, "Camera " + std::to_string(i), bytes_per_second);
  }
  const auto root =
      base::MachineRoot::At(std::filesystem::path(RIGPROOF_FIXTURES) / "machines" / machine);
  EXPECT_TRUE(root.has_value());
  if (root) {
    evidence.inventory.usb = probes::ReadUsb(*root);
  }
  return Assess(evidence);
}

std::string AllText(const Finding& finding) {
  std::string text = finding.title;
  for (const std::string& line : finding.evidence) {
    text += "\n" + line;
  }
  return text;
}

long Count(const Document& document, const std::string& id) {
  return std::count_if(document.findings.begin(), document.findings.end(),
                       [&](const Finding& finding) { return finding.id == id; });
}

// Ids on the wiring that are about sharing, by the nodes of some buses and a controller.
std::vector<std::string> SharingIdsOn(const Document& document, const std::string& controller,
                                      const std::string& buses) {
  std::vector<std::string> ids;
  for (const WiringNode& node : document.wiring) {
    const bool ours =
        node.path == controller ||
        buses.find(node.path.starts_with("usb") ? node.path[3] : node.path[0]) != std::string::npos;
    for (const std::string& id : node.finding_ids) {
      if (ours && node.path.find(':') == std::string::npos &&
          (id == "usb-shared-hub" || id == "usb-shared-controller" || id == "usb-bulk-neighbour" ||
           id == "usb-link-oversubscribed")) {
        ids.push_back(node.path + " " + id);
      }
    }
  }
  return ids;
}

// lsusb -t of that guest: bus 1 port 1 is a hub with two video devices, bus 1 port 2 a third one;
// a fourth stands alone on bus 4 of the other controller.
TEST(StoredMachines, ThreeCapturesOfWhichTwoShareAHub) {
  const Document document = AssessTree("2xhci-3capture-shared-hub", 4, 10e6);
  EXPECT_EQ(Count(document, "usb-shared-hub"), 1);
  const Finding* finding = Find(document, "usb-shared-hub");
  ASSERT_NE(finding, nullptr);
  EXPECT_TRUE(NamesPath(AllText(*finding), "1-1.1"));
  EXPECT_TRUE(NamesPath(AllText(*finding), "1-1.2"));
  EXPECT_FALSE(NamesPath(AllText(*finding), "1-2"));
  EXPECT_FALSE(NamesPath(AllText(*finding), "4-1"));
  EXPECT_THAT(SharingIdsOn(document, "0000:00:05.0", "34"), IsEmpty());
  EXPECT_EQ(Find(document, "usb-capture-missing"), nullptr);
}

TEST(StoredMachines, AHighSpeedHubCannotCarryTwoLargePictures) {
  // 1280x720 yuyv422 at 30 is 55.296 MB/s: more than high speed's 53.248 MB/s (ehci.rst).
  const Document document = AssessTree("2xhci-3capture-shared-hub", 4, 55.296e6);
  EXPECT_EQ(document.verdict, Verdict::kShort);
  EXPECT_NE(Find(document, "usb-link-oversubscribed"), nullptr);
}

// lsusb -t of that guest: bus 2 port 1 is a 5 Gb/s hub with two video devices, port 2 a disk.
TEST(StoredMachines, TwoCapturesOnASuperSpeedHubBesideADisk) {
  const Document document = AssessTree("2xhci-2capture-hub-disk", 2, 124.416e6);
  const Finding* shared = Find(document, "usb-shared-hub");
  ASSERT_NE(shared, nullptr);
  EXPECT_TRUE(NamesPath(AllText(*shared), "2-1.1"));
  EXPECT_TRUE(NamesPath(AllText(*shared), "2-1.2"));
  const Finding* neighbour = Find(document, "usb-bulk-neighbour");
  ASSERT_NE(neighbour, nullptr);
  EXPECT_TRUE(NamesPath(AllText(*neighbour), "2-2"));
  EXPECT_THAT(neighbour->title, HasSubstr("2 capture devices"));
  EXPECT_THAT(SharingIdsOn(document, "0000:00:05.0", "34"), IsEmpty());
}

TEST(StoredMachines, NoCaptureDeviceAtAll) {
  const Document document = AssessTree("1xhci-disk-audio", 1, 10e6);
  EXPECT_NE(Find(document, "usb-capture-missing"), nullptr);
  EXPECT_EQ(Find(document, "usb-bulk-neighbour"), nullptr);
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
}

}  // namespace
}  // namespace report::testing
