// SPDX-License-Identifier: Apache-2.0
//
// Captured machines through the probe and the rules: shared hubs are found, clean controllers stay
// so.

#include <algorithm>
#include <filesystem>
#include <string>

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/system/machine_root.h"
#include "probes/usb/tree.h"
#include "profiles/demand/demand.h"
#include "profiles/text/reader.h"
#include "profiles/text/starters.h"
#include "report/assess/assess.h"
#include "report/data/finding.h"
#include "report/data/writers.h"
#include "report/words/quantities.h"
#include "tests/support/places.h"
#include "tests/support/rule_case.h"

namespace report::testing {
namespace {

using ::testing::Contains;
using ::testing::ContainsRegex;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

// The good PC with the USB tree of a captured one and as many sources.
Evidence EvidenceOfTree(const std::string& machine, int sources, double bytes_per_second,
                        profiles::Raster raster) {
  Evidence evidence = GoodEvidence();
  evidence.profile.sources.clear();
  evidence.demand.sources.clear();
  for (int i = 1; i <= sources; ++i) {
    AddSource(evidence, "Camera " + std::to_string(i), bytes_per_second);
    evidence.profile.sources.back().raster = raster;
  }
  const auto root = base::MachineRoot::At(support::Fixtures() / "machines" / machine);
  EXPECT_TRUE(root.has_value());
  if (root) {
    evidence.inventory.usb = probes::ReadUsb(*root);
  }
  return evidence;
}

Document AssessTree(const std::string& machine, int sources, double bytes_per_second,
                    profiles::Raster raster = {1280, 720}) {
  return Assess(EvidenceOfTree(machine, sources, bytes_per_second, raster));
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
  EXPECT_TRUE(IsAbout(*finding, {SubjectKind::kUsb, "1-1.1"}));
  EXPECT_TRUE(IsAbout(*finding, {SubjectKind::kUsb, "1-1.2"}));
  EXPECT_FALSE(IsAbout(*finding, {SubjectKind::kUsb, "1-2"}));
  EXPECT_FALSE(IsAbout(*finding, {SubjectKind::kUsb, "4-1"}));
  EXPECT_THAT(SharingIdsOn(document, "0000:00:05.0", "34"), IsEmpty());
  EXPECT_EQ(Find(document, "usb-capture-missing"), nullptr);
}

// The camera of port 1-1.1 calls itself after another port: the one that is there is innocent.
TEST(StoredMachines, ANameWithAPathLaysNothingOnThePortOfThatPath) {
  Evidence evidence = EvidenceOfTree("2xhci-3capture-shared-hub", 4, 55.296e6, {1280, 720});
  for (probes::UsbDevice& device : evidence.inventory.usb.devices) {
    if (device.path == "1-1.1") {
      device.product = "Capture HD 4-1";
    }
  }
  const Document named = Assess(evidence);
  const Document before = AssessTree("2xhci-3capture-shared-hub", 4, 55.296e6);
  ASSERT_EQ(named.wiring.size(), before.wiring.size());
  for (std::size_t i = 0; i < before.wiring.size(); ++i) {
    EXPECT_EQ(named.wiring[i].finding_ids, before.wiring[i].finding_ids) << before.wiring[i].path;
  }
}

TEST(StoredMachines, AHighSpeedHubCannotCarryTwoLargePictures) {
  // 1280x720 yuyv422 at 30 is 55.296 MB/s: more than high speed's 53.248 MB/s (ehci.rst).
  const Document document = AssessTree("2xhci-3capture-shared-hub", 4, 55.296e6);
  EXPECT_EQ(document.verdict, Verdict::kShort);
  const Finding* finding = Find(document, "usb-link-oversubscribed");
  ASSERT_NE(finding, nullptr);
  EXPECT_EQ(finding->about.front(), (Subject{SubjectKind::kUsb, "1-1"}));
  EXPECT_TRUE(BearsOn(*finding, Resource::kUsb));
  EXPECT_TRUE(BearsOn(*Find(document, "usb-shared-hub"), Resource::kUsb));
  EXPECT_FALSE(BearsOn(*Find(document, "usb-shared-hub"), Resource::kPcie));
}

// Reasons, rows and findings tell one figure, rounded toward caution, and not three: 196.608 us.
TEST(StoredMachines, TheTimeOfABusIsOneFigureWhereverItStands) {
  const Document document = AssessTree("2xhci-2capture-hub-disk", 2, 248.832e6, {1920, 1080});
  const auto row =
      std::find_if(document.headroom.begin(), document.headroom.end(),
                   [](const Headroom& one) { return one.unit == "us" && one.capacity; });
  ASSERT_NE(row, document.headroom.end());
  const std::string asked = FormatNeeded(row->demand, row->unit);
  const Finding* refused = Find(document, "usb-no-bandwidth");
  ASSERT_NE(refused, nullptr);
  EXPECT_THAT(refused->title, HasSubstr(asked + " of every microframe"));
  EXPECT_THAT(document.reasons, Contains(HasSubstr(asked + " needed, 112.5 us available")));
  EXPECT_THAT(WriteTerminal(document, {.columns = 120, .details = true}),
              ContainsRegex("  " + asked + " +112.5 us"));
}

// lsusb -t of that guest: bus 2 port 1 is a 5 Gb/s hub with two video devices, port 2 a disk.
TEST(StoredMachines, TwoCapturesOnASuperSpeedHubBesideADisk) {
  const Document document = AssessTree("2xhci-2capture-hub-disk", 2, 124.416e6);
  const Finding* shared = Find(document, "usb-shared-hub");
  ASSERT_NE(shared, nullptr);
  EXPECT_TRUE(IsAbout(*shared, {SubjectKind::kUsb, "2-1.1"}));
  EXPECT_TRUE(IsAbout(*shared, {SubjectKind::kUsb, "2-1.2"}));
  const Finding* neighbour = Find(document, "usb-bulk-neighbour");
  ASSERT_NE(neighbour, nullptr);
  EXPECT_TRUE(IsAbout(*neighbour, {SubjectKind::kUsb, "2-2"}));
  EXPECT_THAT(neighbour->title, HasSubstr("2 capture devices"));
  EXPECT_THAT(SharingIdsOn(document, "0000:00:05.0", "34"), IsEmpty());
}

const CaptureStream* StreamOn(const Document& document, const std::string& path) {
  const auto found = std::find_if(document.streams.begin(), document.streams.end(),
                                  [&](const CaptureStream& one) { return one.path == path; });
  return found == document.streams.end() ? nullptr : &*found;
}

// lsusb -v of that guest: settings 1 to 6 of interface 1 hold 128, 512, 800, 2 x 800, 3 x 800 and
// 3 x 1024 bytes; 640x360 is listed at 333333. 460800 x 30 / 8000 + 12 = 1740 bytes.
TEST(StoredMachines, AlternateSettingsFromTheDescriptors) {
  const Document document = AssessTree("2xhci-3capture-shared-hub", 3, 460800.0 * 30, {640, 360});
  const CaptureStream* stream = StreamOn(document, "1-1.1");
  ASSERT_NE(stream, nullptr);
  EXPECT_NE(stream->source, "");
  EXPECT_EQ(stream->payload_bytes, 1740);
  EXPECT_EQ(stream->alternate_setting, 5);
  EXPECT_EQ(stream->reserved_bytes, 2400);
  // The fourth device, at SuperSpeed, has no source: its heaviest mode is shown and not counted.
  const CaptureStream* idle = StreamOn(document, "4-1");
  ASSERT_NE(idle, nullptr);
  EXPECT_EQ(idle->source, "");
}

// Two high-speed devices behind one hub ask 20 of its 40.96 MB/s; each alone 10 of the 24.48 that
// its largest setting holds (3060 x 8000). One plug into a port of the PC, and that is the most.
TEST(StoredMachines, OnePlugOutOfTheSharedHub) {
  const Document document = AssessTree("2xhci-3capture-shared-hub", 4, 10e6, {640, 360});
  ASSERT_TRUE(document.move_plan);
  const MovePlan& plan = *document.move_plan;
  ASSERT_EQ(plan.moves.size(), 1U);
  EXPECT_TRUE(plan.moves[0].from == "1-1-port1" || plan.moves[0].from == "1-1-port2");
  EXPECT_THAT(plan.moves[0].to, ::testing::StartsWith("usb"));
  EXPECT_LT(plan.percent_after, plan.percent_before);
  const Finding* shared = Find(document, "usb-shared-hub");
  ASSERT_NE(shared, nullptr);
  EXPECT_THAT(shared->action, HasSubstr("The move plan repairs it (1 move)"));
}

// Two 1920x1080 yuyv422 at 30 are 124.4 MB/s each: 62.2 % of the hub's 400. The other controller
// has four free ports: one camera there, and no link carries more than one picture.
TEST(StoredMachines, OneCameraToTheFreeController) {
  const Document document = AssessTree("2xhci-2capture-hub-disk", 2, 124.416e6, {1920, 1080});
  ASSERT_TRUE(document.move_plan);
  const MovePlan& plan = *document.move_plan;
  EXPECT_NEAR(plan.percent_before, 62.2, 0.05);
  EXPECT_LT(plan.percent_after, 50);
  ASSERT_EQ(plan.moves.size(), 1U);
  EXPECT_EQ(plan.moves[0].from, "2-1-port2");
  EXPECT_EQ(plan.moves[0].to, "usb4-port1");
  EXPECT_THAT(plan.moves[0].text, HasSubstr("second USB controller (0000:00:05.0)"));
  EXPECT_THAT(plan.mends, ::testing::Contains(HasSubstr("share the hub")));
  // lsusb -v: setting 4 is a burst of 16 packets of 1024; 4147200 x 30 / 8000 + 12 = 15564 bytes.
  EXPECT_EQ(StreamOn(document, "2-1.1")->alternate_setting, 4);
  EXPECT_EQ(StreamOn(document, "2-1.1")->reserved_bytes, 16384);
}

// At 60 each needs 31116 bytes, and the setting that holds them reserves 49152 (Mult 2: 3 bursts of
// 16) of every microframe: 197 us at 500 MB/s for both, and 112.5 may be held. They start only
// apart.
TEST(StoredMachines, TwoCamerasThatOnePortRefuses) {
  Document document = AssessTree("2xhci-2capture-hub-disk", 2, 248.832e6, {1920, 1080});
  const Finding* refused = Find(document, "usb-no-bandwidth");
  ASSERT_NE(refused, nullptr);
  EXPECT_EQ(document.verdict, Verdict::kShort);
  EXPECT_THAT(refused->title, HasSubstr("196.7 us"));
  EXPECT_THAT(refused->action, HasSubstr("The move plan repairs it"));
  ASSERT_TRUE(document.move_plan);
  EXPECT_LE(document.move_plan->percent_after, 100);
}

// Every starter on every stored machine, with its cameras as they are and as MJPEG.
TEST(StoredMachines, AStopStandsBesideShortAndNothingElse) {
  for (const profiles::Starter& starter : profiles::Starters()) {
    for (const char* machine :
         {"1xhci-disk-audio", "2xhci-2capture-hub-disk", "2xhci-3capture-shared-hub"}) {
      for (const bool mjpeg : {false, true}) {
        Evidence evidence;
        evidence.length = kSurvey;
        auto profile = profiles::ParseProfile(starter.json, "starter");
        ASSERT_TRUE(profile);
        evidence.profile = *profile;
        for (profiles::Source& source : evidence.profile.sources) {
          source.pixel_format = mjpeg ? "mjpeg" : source.pixel_format;
        }
        evidence.demand = profiles::SumDemand(evidence.profile);
        const auto root = base::MachineRoot::At(support::Fixtures() / "machines" / machine);
        ASSERT_TRUE(root);
        evidence.inventory.usb = probes::ReadUsb(*root);
        const Document document = Assess(evidence);
        SCOPED_TRACE(fmt::format("{} {} {}", starter.name, machine, mjpeg));
        ExpectStopsAndVerdictAgree(document);
        EXPECT_FALSE(mjpeg && document.verdict == Verdict::kShort) << document.headline;
      }
    }
  }
}

TEST(StoredMachines, NoCaptureDeviceAtAll) {
  const Document document = AssessTree("1xhci-disk-audio", 1, 10e6);
  EXPECT_NE(Find(document, "usb-capture-missing"), nullptr);
  EXPECT_EQ(Find(document, "usb-bulk-neighbour"), nullptr);
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
}

}  // namespace
}  // namespace report::testing
