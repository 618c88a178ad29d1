// SPDX-License-Identifier: Apache-2.0
//
// The wiring and the move plan in words, and on a terminal.

#include "report/show/rows/wiring.h"

#include <algorithm>
#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "report/show/terminal/blocks.h"
#include "report/words/cautions.h"
#include "tests/support/port_builder.h"
#include "tests/support/shown_part.h"

namespace report::testing {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

std::string Shown(const Evidence& evidence, int columns) {
  TerminalPage page({.colour = false, .columns = columns, .details = true});
  const Document document = Assess(evidence);
  PutPart(page, LoadedLinksPart(document));
  PutPart(page, MovesPart(document));
  PutPart(page, LinksAfterPart(document));
  return page.text();
}

Evidence SharedHub() {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  GivePorts(evidence);
  return evidence;
}

TEST(WiringParts, ShowsLoadedLinksThenThePlanThenTheLinksAfterIt) {
  const std::string text = tests::Flat(Shown(SharedHub(), 100));
  const auto wiring = text.find("Wiring");
  const auto plan = text.find("Move plan");
  const auto after = text.find("Wiring after the moves");
  ASSERT_NE(after, std::string::npos);
  EXPECT_LT(wiring, plan);
  EXPECT_LT(plan, after);
  EXPECT_THAT(text.substr(wiring, plan - wiring),
              AllOf(HasSubstr("2-1.2"), HasSubstr("111 MB/s of 400 MB/s, 28 % in use"),
                    HasSubstr("goes to 4-1"),
                    HasSubstr("Camera 2: 1280x720 yuyv422 at 30, alternate setting 1"),
                    Not(HasSubstr("usb2"))));
  EXPECT_THAT(text.substr(plan, after - plan),
              AllOf(HasSubstr("Step 1"), HasSubstr("Take the plug of Invented capture 2-1.2"),
                    HasSubstr("Gone then"), HasSubstr(std::string(kCautionMoves))));
  EXPECT_THAT(text.substr(after), AllOf(HasSubstr("4-1"), HasSubstr("came from 2-1.2")));
}

TEST(WiringParts, FitsANarrowTerminal) {
  std::istringstream lines(Shown(SharedHub(), 40));
  for (std::string line; std::getline(lines, line);) {
    EXPECT_LE(line.size(), 40U) << line;
  }
}

TEST(WiringParts, SaysToLeaveEveryPlugWithTheReason) {
  Evidence evidence = GoodEvidence();
  GivePorts(evidence);
  EXPECT_THAT(Shown(evidence, 100),
              AllOf(HasSubstr("Leave every plug where it is."), HasSubstr("Fullest link"),
                    Not(HasSubstr("after the moves"))));
}

TEST(WiringParts, TakesNoEscapeCodesFromDevices) {
  Evidence evidence = SharedHub();
  evidence.inventory.usb.devices.back().product = "\x1b[31mred\x1b[0m";
  EXPECT_THAT(Shown(evidence, 80), Not(HasSubstr("\x1b")));
}

TEST(WiringParts, ALinkThatCarriesTooMuchIsOverloadedInWordsToo) {
  Document document;
  document.wiring.resize(1);
  WiringNode& hub = document.wiring.front();
  hub.kind = NodeKind::kHub;
  hub.depth = 1;
  hub.demand_bytes_per_second = 4.5e8;
  hub.capacity_bytes_per_second = 4e8;
  hub.used_percent = 112.4;
  const auto tree = std::get<show::Tree>(LoadedLinksPart(document).blocks.front());
  EXPECT_EQ(tree.branches.front().text,
            "hub: no name, 450 MB/s of 400 MB/s, 113 % in use: overloaded");
  EXPECT_EQ(WiringTable(document).rows[0][6].mark, show::Mark::kStop);
}

TEST(WiringTable, MarksANodeByTheWorstThatWasFoundOfIt) {
  Document document;
  document.findings.resize(2);
  document.findings[0].id = "a";
  document.findings[0].severity = Severity::kNote;
  document.findings[0].title = "First";
  document.findings[1].id = "b";
  document.findings[1].severity = Severity::kWarn;
  document.findings[1].title = "Second";
  document.wiring.resize(2);
  document.wiring[0].path = "usb1";
  document.wiring[1].depth = 1;
  document.wiring[1].finding_ids = {"a", "b", "not told"};
  const show::Table table = WiringTable(document);
  EXPECT_EQ(table.rows[1].back().text, "First; Second; not told");
  EXPECT_EQ(table.rows[1].back().mark, show::Mark::kWarn);
  EXPECT_EQ(table.rows[0][3].text, "the PC");
  EXPECT_EQ(table.rows[1][3].text, "usb1");
  EXPECT_EQ(table.rows[0].back().mark, show::Mark::kNone);
}

TEST(WiringTable, TwoLinksWithOneKindOfFindingHaveEachItsOwn) {
  Document document;
  for (const char* const path : {"1-1", "1-2"}) {
    WiringNode node;
    node.path = path;
    node.label = "Invented Camera";
    node.kind = NodeKind::kCapture;
    node.finding_ids = {"usb-slower-than-it-could"};
    document.wiring.push_back(node);
    Finding finding;
    finding.id = "usb-slower-than-it-could";
    finding.title = std::string("The camera at ") + path + " is slow";
    finding.about = {{SubjectKind::kUsb, path}};
    document.findings.push_back(finding);
  }
  const show::Table table = WiringTable(document);
  EXPECT_EQ(table.rows[0].back().text, "The camera at 1-1 is slow");
  EXPECT_EQ(table.rows[1].back().text, "The camera at 1-2 is slow");
}

TEST(WiringParts, IsSilentWithoutCaptures) {
  Evidence evidence = GoodEvidence();
  auto& devices = evidence.inventory.usb.devices;
  std::erase_if(devices, [](const auto& one) { return one.role == probes::UsbRole::kCapture; });
  EXPECT_EQ(Shown(evidence, 80), "");
}

}  // namespace
}  // namespace report::testing
