// SPDX-License-Identifier: Apache-2.0

#include "report/loads/pcie_load.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "report/headroom/headroom.h"
#include "report/loads/pcie_capacity.h"
#include "report/show/rows/pcie_lines.h"
#include "tests/support/evidence_builder.h"
#include "tests/support/pcie_machine.h"

namespace report::testing {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

// PCI Express: a link joins a downstream port and an upstream one; between the two ports of a
// switch there is none.
TEST(PcieWay, PairsPortsFromTheRootDown) {
  Evidence evidence = GoodEvidence();
  PutBehindOneSwitch(evidence, 8, 2);
  const auto way = PcieWay(evidence.inventory.pci, "0000:13:00.0");
  ASSERT_THAT(way, SizeIs(2));
  EXPECT_EQ(way[0].Key(), "0000:12:00.0");
  EXPECT_EQ(way[0].lower->address, "0000:13:00.0");
  EXPECT_EQ(way[1].Key(), "0000:00:1c.0");
  EXPECT_EQ(way[1].lower->address, "0000:11:00.0");
  EXPECT_EQ(Narrowest(way)->Key(), "0000:00:1c.0");
}

TEST(PcieWay, AFunctionOfTheRootComplexHasNone) {
  probes::PciInventory pci;
  pci.functions = {PciFunction("0000:00:14.0", kUsbController, "", 0, 0)};
  EXPECT_THAT(PcieWay(pci, "0000:00:14.0"), IsEmpty());
  EXPECT_THAT(PcieWay(pci, "0000:09:00.0"), IsEmpty());
  EXPECT_THAT(PcieWay(pci, ""), IsEmpty());
}

TEST(PcieWay, AConventionalBridgeIsNoLink) {
  probes::PciInventory pci;
  pci.functions = {PciFunction("0000:00:1e.0", kBridge, "", 0, 0),
                   PciFunction("0000:05:00.0", kCaptureClass, "0000:00:1e.0", 0, 0)};
  EXPECT_THAT(PcieWay(pci, "0000:05:00.0"), IsEmpty());
}

TEST(PcieWay, ALoopOfParentsEnds) {
  probes::PciInventory pci;
  pci.functions = {PciFunction("0000:00:01.0", kBridge, "0000:00:02.0", 8, 4),
                   PciFunction("0000:00:02.0", kBridge, "0000:00:01.0", 8, 4)};
  EXPECT_LE(PcieWay(pci, "0000:00:01.0").size(), 32U);
}

const Headroom* RowOf(const Document& document, const std::string& item) {
  for (const Headroom& row : document.headroom) {
    if (row.item.find(item) != std::string::npos) {
      return &row;
    }
  }
  return nullptr;
}

// Gen 3: 984.615 MB/s a lane after line code (Linux PCIE_SPEED2MBS_ENC); 24 bytes of header for
// 128 of payload.
TEST(PcieHeadroom, TheNarrowestLinkLimitsACard) {
  Evidence evidence = GoodEvidence();
  PutBehindOneSwitch(evidence, 8, 1);
  AddCardSource(evidence, 248.8e6);
  const Document document = Assess(evidence);
  const Headroom* row = RowOf(document, "PCIe card");
  ASSERT_NE(row, nullptr);
  EXPECT_NEAR(*row->capacity, 984.615e6 * 128 / 152, 1e4);
  EXPECT_THAT(row->source, HasSubstr("narrowest link on its way, at 0000:00:1c.0"));
}

// Down (from memory) and up are wires of their own: the fuller one counts, with the requests
// for what is read going up.
TEST(PcieHeadroom, ASharedLinkCountsItsFullerDirection) {
  Evidence evidence = GoodEvidence();
  PutBehindOneSwitch(evidence, 8, 1);
  AddCardSource(evidence, 248.8e6);
  const Document document = Assess(evidence);
  const Headroom* row = RowOf(document, "PCIe link at 0000:00:1c.0");
  ASSERT_NE(row, nullptr);
  EXPECT_NEAR(row->demand, 248.8e6 + 800e3 * 24 / 512, 1);
  EXPECT_THAT(row->source, HasSubstr("recording to /recordings"));
  EXPECT_THAT(row->source, HasSubstr("capture card"));
  evidence.demand.outputs[0].disk_bytes_per_second = 600e6;
  const Document full = Assess(evidence);
  EXPECT_NEAR(RowOf(full, "PCIe link at 0000:00:1c.0")->demand, 600e6, 1);
}

TEST(PcieHeadroom, WhatHasALinkOfItsOwnIsNotShared) {
  Evidence evidence = GoodEvidence();
  PutBehindOneSwitch(evidence, 8, 4);
  AddCardSource(evidence, 248.8e6);
  EXPECT_EQ(RowOf(Assess(evidence), "PCIe link at 0000:12:00.0"), nullptr);
}

TEST(PcieHeadroom, AUsbControllerOnANarrowCardHasItsRow) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.pci.functions = {
      PciFunction("0000:00:1d.0", kBridge, "", 5, 1),
      PciFunction("0000:02:00.0", kUsbController, "0000:00:1d.0", 5, 1)};
  const Document document = Assess(evidence);
  const Headroom* row = RowOf(document, "PCIe link of USB controller 0000:02:00.0");
  ASSERT_NE(row, nullptr);
  EXPECT_NEAR(*row->capacity, 500e6 * 128 / 152, 1e3);
  EXPECT_NEAR(row->demand, 1280.0 * 720 * 2 * 30, 1);
  EXPECT_EQ(RowOf(document, "PCIe link of USB controller 0000:00:14.0"), nullptr);
}

TEST(PcieHeadroom, AVirtualMachineHidesItsLinks) {
  Evidence evidence = GoodEvidence();
  PutBehindOneSwitch(evidence, 8, 1);
  AddCardSource(evidence, 248.8e6);
  evidence.inventory.cpu.hypervisor = std::string("kvm");
  const Document document = Assess(evidence);
  const Headroom* row = RowOf(document, "PCIe card");
  ASSERT_NE(row, nullptr);
  EXPECT_FALSE(row->capacity);
  EXPECT_THAT(row->source, HasSubstr("virtual machine"));
  EXPECT_EQ(RowOf(document, "PCIe link at"), nullptr);
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
}

TEST(PcieLines, NameLinksAndTheWayUp) {
  Evidence evidence = GoodEvidence();
  PutBehindOneSwitch(evidence, 8, 1);
  const auto lines = PcieLines(evidence.inventory);
  ASSERT_THAT(lines, SizeIs(2));
  EXPECT_EQ(lines[0].kind, PciKind::kCapture);
  EXPECT_EQ(lines[0].link, "8 GT/s x4");
  EXPECT_EQ(lines[0].way, "0000:12:00.0 (8 GT/s x4), 0000:00:1c.0 (8 GT/s x1)");
  EXPECT_EQ(lines[1].kind, PciKind::kDisk);
  evidence.inventory.cpu.hypervisor = std::string("kvm");
  EXPECT_THAT(PcieLines(evidence.inventory)[0].link, HasSubstr("unknown"));
}

}  // namespace
}  // namespace report::testing
