// SPDX-License-Identifier: Apache-2.0

#include "report/line_check/line_check.h"

#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/line_check_sample.h"

namespace {

using probes::LineCheck;
using probes::LineOutcome;
using report::Finding;
using report::JudgeLineCheck;
using report::LineDocument;
using report::Verdict;
using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using tests::GoodCheck;
using tests::GoodDevice;
using tests::TextOf;

probes::UsbDevice UsbDevice(const std::string& path, const std::string& parent, int bus) {
  probes::UsbDevice device;
  device.path = path;
  device.parent = parent;
  device.bus = bus;
  device.speed_mbps = 480;
  device.product = "Lab " + path;
  return device;
}

/// Two controllers; cameras at 1-1.1 and 1-1.2 behind one hub of the first, one at 1-2 beside it.
probes::UsbInventory TwoControllers() {
  probes::UsbInventory usb;
  usb.present = true;
  usb.controllers = {{"0000:00:04.0", "first", std::string("xhci_hcd"), {1, 2}},
                     {"0000:00:05.0", "second", std::string("xhci_hcd"), {3, 4}}};
  usb.devices = {UsbDevice("usb1", "", 1),     UsbDevice("1-1", "usb1", 1),
                 UsbDevice("1-1.1", "1-1", 1), UsbDevice("1-1.2", "1-1", 1),
                 UsbDevice("1-2", "usb1", 1),  UsbDevice("usb3", "", 3)};
  usb.devices[1].role = probes::UsbRole::kHub;
  usb.devices[1].physical_hub = "1-1+2-1";
  return usb;
}

const Finding* Find(const LineDocument& document, const std::string& id) {
  for (const Finding& finding : document.findings) {
    if (finding.id == id) {
      return &finding;
    }
  }
  return nullptr;
}

TEST(JudgeLineCheck, AllPicturesOnTimeAreReady) {
  const LineDocument document = JudgeLineCheck(GoodCheck(), {});
  EXPECT_EQ(document.verdict, Verdict::kReady);
  EXPECT_TRUE(document.complete);
  EXPECT_THAT(document.findings, IsEmpty());
  EXPECT_EQ(document.headline, "All 2 devices delivered every frame for 20 s.");
}

TEST(JudgeLineCheck, NothingToCheckIsUnproven) {
  LineCheck check;
  check.why_no_nodes = "no video driver is loaded";
  check.asked_seconds = 20;
  const LineDocument document = JudgeLineCheck(check, {});
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
  EXPECT_THAT(document.headline, HasSubstr("no capture device"));
}

TEST(JudgeLineCheck, SmallDeviationsAreNoFindings) {
  LineCheck check = GoodCheck();
  // 150 ppm off, with an interval that holds the asked rate within 200 ppm.
  check.devices[0].pictures.device_rate = probes::LineRate{25.00375, 25.003, 25.0045};
  check.devices[0].pictures.jitter = probes::LineJitter{1, 9, 19.9, 30, 40, 10, 70};
  EXPECT_EQ(JudgeLineCheck(check, {}).verdict, Verdict::kReady);
}

TEST(JudgeLineCheck, ShortRunDoesNotTellASmallRateError) {
  LineCheck check = GoodCheck();
  check.devices[0].pictures.device_rate = probes::LineRate{24.975, std::nullopt, std::nullopt};
  EXPECT_EQ(JudgeLineCheck(check, {}).verdict, Verdict::kReady);
}

TEST(JudgeLineCheck, LossOutweighsWhatIsUnproven) {
  LineCheck check = GoodCheck();
  check.devices[0].pictures.lost = 1;
  check.devices[1].outcome = LineOutcome::kNotThere;
  const LineDocument document = JudgeLineCheck(check, {});
  EXPECT_EQ(document.verdict, Verdict::kShort);
  EXPECT_EQ(document.findings.front().id, "line-frames-lost");
}

TEST(JudgeLineCheck, InterruptedRunIsUnprovenAndIncomplete) {
  LineCheck check = GoodCheck();
  check.interrupted = true;
  check.seconds = 4;
  const LineDocument document = JudgeLineCheck(check, {});
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
  EXPECT_FALSE(document.complete);
  EXPECT_EQ(document.headline, "Stopped after 4.0 s of 20 s.");
}

TEST(JudgeLineCheck, DevicesLeftAloneAreUnproven) {
  LineCheck check = GoodCheck();
  check.devices[1].outcome = LineOutcome::kNotTried;
  EXPECT_EQ(JudgeLineCheck(check, {}).verdict, Verdict::kUnproven);
}

TEST(JudgeLineCheck, NoBandwidthIsTiedToTheLinkAndWhoIsOnIt) {
  LineCheck check = GoodCheck();
  check.devices.push_back(GoodDevice("Left 3", "video4"));
  check.devices[0].at.usb_path = "1-1.1";
  check.devices[1].at.usb_path = "1-2";
  check.devices[2].at.usb_path = "1-1.2";
  check.devices[2].outcome = LineOutcome::kNoBandwidth;
  check.devices[2].reason = "VIDIOC_STREAMON: No space left on device";
  check.devices[2].pictures = {};
  const LineDocument document = JudgeLineCheck(check, TwoControllers());
  EXPECT_EQ(document.verdict, Verdict::kShort);
  EXPECT_EQ(document.headline, "No bandwidth for Left 3 (video4).");
  const std::string text = TextOf(Find(document, "line-no-bandwidth"));
  for (const char* part :
       {"No space left on device", "1-1.2", "480 Mb/s", "1-1+2-1", "controller 0000:00:04.0",
        "on the same hub: Left 1 (video0) at 1-1.1", "on the same bus: Left 2 (video2) at 1-2",
        "another controller (0000:00:05.0)"}) {
    EXPECT_THAT(text, HasSubstr(part));
  }
}

TEST(JudgeLineCheck, NoBandwidthOffUsbIsToldAllTheSame) {
  LineCheck check = GoodCheck();
  check.devices[0].outcome = LineOutcome::kNoBandwidth;
  EXPECT_THAT(TextOf(Find(JudgeLineCheck(check, {}), "line-no-bandwidth")),
              HasSubstr("its place on USB is not known"));
}

TEST(JudgeLineCheck, DevicesOfOthersBesideTheCheckAreTold) {
  LineCheck check = GoodCheck();
  probes::CaptureNode other;
  other.node = "video6";
  other.name = "Other";
  other.users = {{99, "mixer"}};
  check.others_in_use = {other};
  EXPECT_EQ(JudgeLineCheck(check, {}).verdict, Verdict::kReady);
  check.devices[0].outcome = check.devices[1].outcome = LineOutcome::kNotTried;
  const LineDocument document = JudgeLineCheck(check, {});
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
  EXPECT_THAT(
      TextOf(Find(document, "line-other-in-use")),
      testing::AllOf(HasSubstr("Other (video6): mixer (process 99)"), HasSubstr("--even-in-use")));
}

TEST(JudgeLineCheck, LinesOfTheKernelsLogAreTightUnlessTheyAreNotes) {
  LineCheck check = GoodCheck();
  check.kernel_log.matches = {{3.5, "usb 1-1.1: reset high-speed USB device number 4", "usb-errors",
                               "reset", "serious", ""}};
  LineDocument document = JudgeLineCheck(check, {});
  EXPECT_EQ(document.verdict, Verdict::kTight);
  EXPECT_THAT(TextOf(Find(document, "line-kernel-log")), HasSubstr("3.5 s: usb 1-1.1: reset"));
  check.kernel_log.matches[0].weight = "note";
  EXPECT_EQ(JudgeLineCheck(check, {}).verdict, Verdict::kReady);
}

TEST(JudgeLineCheck, LogThatMayNotBeReadIsANote) {
  LineCheck check = GoodCheck();
  check.kernel_log.lines_read =
      base::Reading<std::int64_t>::Unknown("/dev/kmsg: Operation not permitted");
  const LineDocument document = JudgeLineCheck(check, {});
  EXPECT_EQ(document.verdict, Verdict::kReady);
  EXPECT_THAT(TextOf(Find(document, "line-log-unread")), HasSubstr("not permitted"));
}

}  // namespace
