// SPDX-License-Identifier: Apache-2.0

#include "report/loads/cable_lines.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/demand/demand.h"
#include "profiles/text/reader.h"
#include "report/assess/assess.h"
#include "report/data/writers.h"
#include "report/show/rows/demand.h"
#include "report/show/terminal/blocks.h"
#include "tests/support/evidence_builder.h"

namespace report::testing {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::SizeIs;

Evidence Cabled() {
  Evidence evidence = GoodEvidence();
  evidence.profile.sources[0].raster = {1920, 1080};
  evidence.profile.sources[0].rate = 60;
  evidence.profile.sources[0].cable = profiles::Cable{};
  evidence.profile.sources[0].cable->metres = 90;
  evidence.profile.sources[0].cable->grade = profiles::CoaxGrade::kStandard;
  evidence.profile.sources[1].cable = profiles::Cable{};
  evidence.profile.sources[1].cable->kind = profiles::CableKind::kUsb3;
  evidence.profile.sources[1].cable->metres = 2;
  profiles::ControlChain chain;
  chain.name = "Stage";
  chain.wires = profiles::ControlWires::kRs422;
  chain.cameras = {{"Camera 1", 3, 40}, {"Camera 2", 1, 12.5}};
  evidence.profile.camera_control = {chain};
  return evidence;
}

TEST(CableLines, SayLengthLimitAndBasis) {
  const Evidence evidence = Cabled();
  const auto lines = CableLines(evidence.profile, CableSpeeds(evidence));
  ASSERT_THAT(lines, SizeIs(2));
  EXPECT_EQ(lines[0].cable, "90 m of SDI coax, standard grade");
  EXPECT_EQ(lines[0].carries, "3G-SDI (ST 424)");
  EXPECT_EQ(lines[0].limit, "80 m");
  EXPECT_EQ(lines[0].fit, CableFit::kBeyond);
  EXPECT_THAT(lines[0].basis, HasSubstr("common practice: "));
  EXPECT_EQ(lines[1].fit, CableFit::kWithin);
  const auto chains = ChainLines(evidence.profile);
  ASSERT_THAT(chains, SizeIs(1));
  EXPECT_EQ(chains[0].wires, "RS-422 at 9600 baud");
  EXPECT_EQ(chains[0].cameras, "3 Camera 1, 1 Camera 2");
  EXPECT_EQ(chains[0].length, "52.5 m in all");
  EXPECT_EQ(chains[0].fit, CableFit::kWithin);
}

// A device that runs at 10 Gb/s reaches about 1 m (from memory), at 5 Gb/s 3 m.
TEST(CableLines, TheSpeedOfTheDeviceDecides) {
  Evidence evidence = Cabled();
  for (probes::UsbDevice& device : evidence.inventory.usb.devices) {
    if (device.role == probes::UsbRole::kCapture) {
      device.speed_mbps = 10'000;
    }
  }
  EXPECT_EQ(CableLines(evidence.profile, CableSpeeds(evidence))[1].fit, CableFit::kBeyond);
  EXPECT_EQ(CableLines(evidence.profile, {})[1].fit, CableFit::kWithin);
}

TEST(CablesAndControl, StandInEveryWriterOnlyWhereTheProfileHasThem) {
  const Evidence evidence = Cabled();
  const Document document = Assess(evidence);
  const std::string terminal = WriteTerminal(document, {false, 100, true});
  const std::string demand =
      WriteSheets({DemandAnswer(evidence.profile, evidence.demand)}, {false, 100});
  const std::string page = WriteHtml(document);
  for (const std::string& text : {terminal, demand, page}) {
    EXPECT_THAT(text, HasSubstr("Cables and control"));
    EXPECT_THAT(text, HasSubstr("licensed people"));
    EXPECT_THAT(text, HasSubstr("RS-422"));
  }
  const Document bare = Assess(GoodEvidence());
  EXPECT_THAT(WriteTerminal(bare, {false, 100, true}), Not(HasSubstr("Cables and control")));
  EXPECT_THAT(WriteHtml(bare), Not(HasSubstr("Cables and control")));
}

TEST(CablesAndControl, ComeBackFromAResult) {
  const Evidence cabled = Cabled();
  Evidence evidence = GoodEvidence();
  evidence.profile = profiles::ReadProfile("two-camera-talk").value_or({});
  ASSERT_GE(evidence.profile.sources.size(), 2U);
  evidence.profile.sources[0].cable = cabled.profile.sources[0].cable;
  evidence.profile.camera_control = cabled.profile.camera_control;
  evidence.profile.camera_control[0].cameras[0].source = evidence.profile.sources[0].name;
  evidence.profile.camera_control[0].cameras[1].source = evidence.profile.sources[1].name;
  evidence.demand = profiles::SumDemand(evidence.profile);
  const auto read = ReadStoredEvidence(WriteJson(Assess(evidence)), "result.json");
  ASSERT_TRUE(read) << read.error().where << ": " << read.error().detail;
  EXPECT_EQ(read->profile.camera_control, evidence.profile.camera_control);
  EXPECT_EQ(read->profile.sources[0].cable, evidence.profile.sources[0].cable);
}

}  // namespace
}  // namespace report::testing
