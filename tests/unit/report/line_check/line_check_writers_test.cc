// SPDX-License-Identifier: Apache-2.0
//
// The two writers of a line-check, which node is which source, and links that came up slow.

#include <string>
#include <utility>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "report/line_check/line_check.h"
#include "report/show/rows/line_check.h"
#include "report/show/terminal/blocks.h"
#include "tests/support/line_check_sample.h"

namespace {

using probes::CaptureNode;
using probes::LineCheck;
using probes::LineDevice;
using probes::LineOutcome;
using report::JudgeLineCheck;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;
using testing::SizeIs;
using tests::GoodCheck;

TEST(LineCheckJson, HasItsStableKeys) {
  LineCheck check = GoodCheck();
  check.devices[0].pictures.jitter = base::Reading<probes::LineJitter>::Unknown("too few");
  const auto json = nlohmann::json::parse(report::LineCheckJson(JudgeLineCheck(check, {})));
  EXPECT_EQ(json["format"], "rigproof-line-check");
  EXPECT_EQ(json["version"], 1);
  EXPECT_EQ(json["verdict"], "ready");
  EXPECT_EQ(json["complete"], true);
  EXPECT_EQ(json["profile"], "Invented show");
  ASSERT_EQ(json["devices"].size(), 2U);
  const auto& device = json["devices"][0];
  EXPECT_EQ(device["source"], "Left 1");
  EXPECT_EQ(device["outcome"], "ran");
  EXPECT_EQ(device["at"]["node"], "video0");
  EXPECT_EQ(device["asked"]["pixel_format"], "yuyv422");
  EXPECT_EQ(device["pictures"]["delivered"], 500);
  EXPECT_EQ(device["pictures"]["jitter"]["unknown"], "too few");
  EXPECT_TRUE(json["findings"].is_array());
  EXPECT_EQ(json["kernel_log"]["lines_read"], 0);
}

TEST(LineCheckJson, HostileBytesStayJson) {
  LineCheck check = GoodCheck();
  check.devices[0].at.card = "\"\xff\x1b[2J</script>";
  check.devices[0].reason = "\xc3";
  EXPECT_TRUE(nlohmann::json::accept(report::LineCheckJson(JudgeLineCheck(check, {}))));
}

TEST(WriteLineCheckText, SaysVerdictAndEveryDevice) {
  LineCheck check = GoodCheck();
  check.devices[1].pictures.lost = 7;
  check.not_checked = {"Remote"};
  const std::string text =
      report::WriteSheets({report::SheetOf(JudgeLineCheck(check, {}))}, {false, 100});
  for (const char* part :
       {"SHORT", "Left 2 (video2) dropped 7 of 507 frames", "Left 1 (video0)",
        "1280x720 yuyv422 at 25", "25.00", "0.9 ms", "0.21 s", "Remote", "Invented show"}) {
    EXPECT_THAT(text, HasSubstr(part));
  }
}

TEST(WriteLineCheckText, StaysWithinTheTerminalAndTakesNoEscapes) {
  LineCheck check = GoodCheck();
  check.devices[0].source = "\x1b[2J" + std::string(300, 'n');
  check.devices[0].outcome = LineOutcome::kStalled;
  for (const int columns : {40, 80}) {
    const std::string text =
        report::WriteSheets({report::SheetOf(JudgeLineCheck(check, {}))}, {false, columns});
    EXPECT_THAT(text, Not(HasSubstr("\x1b")));
    std::size_t from = 0;
    for (std::size_t to = text.find('\n'); to != std::string::npos; to = text.find('\n', from)) {
      EXPECT_LE(to - from, static_cast<std::size_t>(columns)) << text.substr(from, to - from);
      from = to + 1;
    }
  }
}

profiles::Source Source(const std::string& name, profiles::ArrivesBy by,
                        const std::string& device) {
  profiles::Source source;
  source.name = name;
  source.arrives_by = by;
  source.raster = {1280, 720};
  source.rate = base::Rational(25);
  source.pixel_format = "nv12";
  source.device = device;
  return source;
}

CaptureNode Node(const std::string& node, const std::string& usb_path, const std::string& card,
                 std::vector<std::string> formats) {
  CaptureNode made;
  made.node = node;
  made.usb_path = usb_path;
  made.card = card;
  made.pixel_formats = std::move(formats);
  return made;
}

report::MatchedSource Matched(const std::string& source, const std::string& device_path) {
  report::MatchedSource matched;
  matched.source = source;
  matched.device_path = device_path;
  return matched;
}

std::vector<std::string> NodesOf(const std::vector<LineDevice>& devices) {
  std::vector<std::string> nodes;
  nodes.reserve(devices.size());
  for (const LineDevice& device : devices) {
    nodes.push_back(device.source + "=" + device.at.node);
  }
  return nodes;
}

TEST(WriteLineCheckText, SaysWhatWasNotSeen) {
  LineCheck check = GoodCheck();
  check.not_checked = {"Remote", "Guest"};
  check.kernel_log.lines_read = 3;
  EXPECT_THAT(
      report::WriteSheets({report::SheetOf(JudgeLineCheck(check, {}))}, {false, 100}),
      testing::AllOf(HasSubstr("Left out          sources that arrive by network: Remote, Guest"),
                     HasSubstr("3 lines read during the check, 0 of them tell of trouble"),
                     Not(HasSubstr("of other users"))));
  check.unreadable_processes = 1;
  EXPECT_THAT(report::WriteSheets({report::SheetOf(JudgeLineCheck(check, {}))}, {false, 100}),
              HasSubstr("1 process of other users may not be looked into"));
}

TEST(JudgeLineCheck, NoOptionIsOfferedThatWasTaken) {
  LineCheck check = GoodCheck();
  check.devices[0].outcome = LineOutcome::kInUse;  // opened, and refused by the driver
  check.devices[0].at.users = {{812, "mixer"}};
  check.others_in_use.resize(1);
  check.others_in_use[0].users = {{99, "mixer"}};
  EXPECT_THAT(report::LineCheckJson(JudgeLineCheck(check, {})),
              testing::AllOf(HasSubstr("line-in-use"), HasSubstr("line-other-in-use"),
                             Not(HasSubstr("--even-in-use"))));
}

TEST(JudgeLineCheck, PicturesLostWhileStartingAreNotDelivered) {
  LineCheck check = GoodCheck();
  check.devices[0].pictures.lost_at_start = 3;
  EXPECT_EQ(JudgeLineCheck(check, {}).headline,
            "All 2 devices dropped no frame after their start, for 20 s.");
  check.devices.pop_back();
  const report::LineDocument document = JudgeLineCheck(check, {});
  EXPECT_EQ(document.verdict, report::Verdict::kReady);
  EXPECT_EQ(document.headline, "The device dropped no frame after its start, for 20 s.");
}

TEST(LeaveAlone, MarksWhatIsHeldAndWhatStandsBesideIt) {
  LineCheck check = GoodCheck();
  for (LineDevice& device : check.devices) {
    device.outcome = LineOutcome::kNotTried;
    device.before = {};
  }
  EXPECT_EQ(report::UsersText(check), "");
  check.devices[0].at.users = {{812, "mix\x1b[2Jer"}};
  EXPECT_THAT(report::UsersText(check),
              testing::AllOf(HasSubstr("Left 1 (video0) is held open by mix"),
                             HasSubstr("(process 812)"), Not(HasSubstr("\x1b"))));
  report::LeaveAlone(check);
  EXPECT_EQ(check.devices[0].outcome, LineOutcome::kInUse);
  EXPECT_TRUE(report::LeftAlone(check.devices[0]));
  EXPECT_EQ(check.devices[1].outcome, LineOutcome::kNotTried);
  EXPECT_THAT(check.devices[1].reason, HasSubstr("another device is in use"));
}

TEST(ChooseForProfile, KeepsOthersInUseAndWhatIsNotChecked) {
  profiles::Profile profile;
  profile.name = "Invented show";
  profile.sources.resize(1);
  profile.sources[0].name = "Remote";
  profile.sources[0].arrives_by = profiles::ArrivesBy::kNetwork;
  std::vector<CaptureNode> nodes(2);
  nodes[0].node = "video0";
  nodes[1].node = "video2";
  nodes[1].users = {{99, "mixer"}};
  LineCheck check;
  report::ChooseForProfile(profile, {}, nodes, check);
  EXPECT_TRUE(check.with_profile);
  EXPECT_THAT(check.devices, testing::IsEmpty());
  EXPECT_THAT(check.not_checked, ElementsAre("Remote"));
  ASSERT_THAT(check.others_in_use, SizeIs(1));
  EXPECT_EQ(check.others_in_use[0].node, "video2");
}

TEST(ChooseNodes, UsbSourcesTakeTheNodeOfTheirDevice) {
  using profiles::ArrivesBy;
  profiles::Profile profile;
  profile.sources = {Source("A", ArrivesBy::kUsb, ""), Source("B", ArrivesBy::kUsb, ""),
                     Source("C", ArrivesBy::kUsb, ""), Source("N", ArrivesBy::kNetwork, "")};
  report::SourceMatch usb;
  usb.sources = {Matched("A", "1-2"), Matched("B", "1-1"), Matched("C", "")};
  const auto devices =
      report::ChooseNodes(profile, usb,
                          {Node("video0", "1-1", "x", {}), Node("video2", "1-2", "y", {"yuyv422"}),
                           Node("video3", "1-2", "y", {"nv12"})});
  EXPECT_THAT(NodesOf(devices), ElementsAre("A=video3", "B=video0", "C="));
  EXPECT_EQ(devices[0].outcome, LineOutcome::kNotTried);
  EXPECT_EQ(devices[0].asked->pixel_format, "nv12");
  EXPECT_EQ(devices[2].outcome, LineOutcome::kNotThere);
}

TEST(ChooseNodes, DeviceWithoutADriverIsNotThere) {
  profiles::Profile profile;
  profile.sources = {Source("A", profiles::ArrivesBy::kUsb, "")};
  report::SourceMatch usb;
  usb.sources = {Matched("A", "1-2")};
  const auto devices = report::ChooseNodes(profile, usb, {});
  EXPECT_EQ(devices[0].outcome, LineOutcome::kNotThere);
  EXPECT_THAT(devices[0].reason, HasSubstr("1-2"));
}

TEST(ChooseNodes, PcieSourcesTakeNamedNodesFirstAndNoneOnUsb) {
  using profiles::ArrivesBy;
  profiles::Profile profile;
  profile.sources = {Source("A", ArrivesBy::kPcie, ""), Source("B", ArrivesBy::kPcie, "card two"),
                     Source("C", ArrivesBy::kPcie, ""), Source("D", ArrivesBy::kPcie, "")};
  const auto devices = report::ChooseNodes(
      profile, {},
      {Node("video0", "1-1", "Webcam", {"nv12"}), Node("video1", "", "Card One", {}),
       Node("video2", "", "Card Two", {"nv12"}), Node("video3", "", "Card 3", {"nv12"})});
  EXPECT_THAT(NodesOf(devices), ElementsAre("A=video3", "B=video2", "C=video1", "D="));
  EXPECT_EQ(devices[3].outcome, LineOutcome::kNotThere);
}

TEST(JudgeLineCheck, DeviceOnASlowLinkThatDoesNotRunAsAskedIsTold) {
  LineCheck check = GoodCheck();
  check.devices[0].at.usb_path = "1-1";
  probes::UsbInventory usb;
  probes::UsbDevice device;
  device.path = "1-1";
  device.speed_mbps = 480;
  device.best_speed_mbps = 5000.0;
  usb.devices = {device};
  EXPECT_THAT(JudgeLineCheck(check, usb).findings, SizeIs(0)) << "it ran as asked";
  check.devices[0].outcome = LineOutcome::kRefused;
  const auto document = JudgeLineCheck(check, usb);
  ASSERT_THAT(document.findings, SizeIs(2));
  EXPECT_EQ(document.findings[1].id, "line-slow-link");
  EXPECT_THAT(document.findings[1].title, HasSubstr("at 480 Mb/s and could do 5 Gb/s"));
}

TEST(EveryNode, IsCheckedAtItsCurrentMode) {
  const auto devices =
      report::EveryNode({Node("video0", "", "x", {}), Node("video2", "", "y", {})});
  ASSERT_THAT(devices, SizeIs(2));
  EXPECT_FALSE(devices[0].asked);
  EXPECT_EQ(devices[0].outcome, LineOutcome::kNotTried);
}

}  // namespace
