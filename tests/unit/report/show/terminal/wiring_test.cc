// SPDX-License-Identifier: Apache-2.0
//
// The wiring and the move plan on a terminal.

#include <algorithm>
#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "report/show/terminal/sections.h"
#include "tests/support/port_builder.h"

namespace report::testing {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

std::string Shown(const Evidence& evidence, int columns) {
  TerminalPage page({.colour = false, .columns = columns});
  PutWiring(page, Assess(evidence));
  return page.text();
}

// With the line breaks taken out again.
std::string Flat(const std::string& text) {
  std::istringstream words(text);
  std::string flat;
  for (std::string word; words >> word;) {
    flat += (flat.empty() ? "" : " ") + word;
  }
  return flat;
}

Evidence SharedHub() {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  GivePorts(evidence);
  return evidence;
}

TEST(PutWiring, ShowsLoadedLinksThenThePlanThenTheLinksAfterIt) {
  const std::string text = Flat(Shown(SharedHub(), 100));
  const auto wiring = text.find("Wiring");
  const auto plan = text.find("Move plan");
  const auto after = text.find("Wiring after the moves");
  ASSERT_NE(after, std::string::npos);
  EXPECT_LT(wiring, plan);
  EXPECT_LT(plan, after);
  EXPECT_THAT(text.substr(wiring, plan - wiring),
              AllOf(HasSubstr("2-1.2"), HasSubstr("111 MB/s of 400 MB/s, 28 %"),
                    HasSubstr("Camera 2: 1280x720 yuyv422 at 30, alternate setting 1"),
                    Not(HasSubstr("usb2"))));
  EXPECT_THAT(text.substr(plan, after - plan),
              AllOf(HasSubstr("1. "), HasSubstr("Take the plug of Invented capture 2-1.2"),
                    HasSubstr("mends")));
  EXPECT_THAT(text.substr(after), AllOf(HasSubstr("4-1"), HasSubstr("moved here from 2-1.2")));
}

TEST(PutWiring, FitsANarrowTerminal) {
  std::istringstream lines(Shown(SharedHub(), 40));
  for (std::string line; std::getline(lines, line);) {
    EXPECT_LE(line.size(), 40U) << line;
  }
}

TEST(PutWiring, SaysToLeaveEveryPlugWithTheReason) {
  Evidence evidence = GoodEvidence();
  GivePorts(evidence);
  EXPECT_THAT(Shown(evidence, 100), AllOf(HasSubstr("Leave every plug where it is."),
                                          HasSubstr("fullest"), Not(HasSubstr("after the moves"))));
}

TEST(PutWiring, TakesNoEscapeCodesFromDevices) {
  Evidence evidence = SharedHub();
  evidence.inventory.usb.devices.back().product = "\x1b[31mred\x1b[0m";
  EXPECT_THAT(Shown(evidence, 80), Not(HasSubstr("\x1b")));
}

TEST(PutWiring, IsSilentWithoutCaptures) {
  Evidence evidence = GoodEvidence();
  auto& devices = evidence.inventory.usb.devices;
  std::erase_if(devices, [](const auto& one) { return one.role == probes::UsbRole::kCapture; });
  EXPECT_EQ(Shown(evidence, 80), "");
}

}  // namespace
}  // namespace report::testing
