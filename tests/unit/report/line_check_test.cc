#include "report/line_check.h"

#include <functional>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/unit/report/line_check_sample.h"

namespace {

using probes::LineCheck;
using probes::LineDevice;
using probes::LineMode;
using probes::LineOutcome;
using report::Finding;
using report::JudgeLineCheck;
using report::LineDocument;
using report::Severity;
using report::Verdict;
using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;
using tests::GoodCheck;
using tests::GoodDevice;

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

std::string TextOf(const Finding* finding) {
  if (finding == nullptr) {
    return "no such finding";
  }
  std::string text = finding->title + "\n" + finding->action;
  for (const std::string& line : finding->evidence) {
    text += "\n" + line;
  }
  return text;
}

TEST(JudgeLineCheck, AllPicturesOnTimeAreReady) {
  const LineDocument document = JudgeLineCheck(GoodCheck(), {});
  EXPECT_EQ(document.verdict, Verdict::kReady);
  EXPECT_TRUE(document.complete);
  EXPECT_THAT(document.findings, IsEmpty());
  EXPECT_EQ(document.headline, "All 2 devices delivered every picture for 20 s.");
}

TEST(JudgeLineCheck, NothingToCheckIsUnproven) {
  LineCheck check;
  check.why_no_nodes = "no video driver is loaded";
  check.asked_seconds = 20;
  const LineDocument document = JudgeLineCheck(check, {});
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
  EXPECT_THAT(document.headline, HasSubstr("no capture device"));
}

/// One thing wrong with the first device, and what must come of it.
struct Case {
  const char* id;
  Severity severity;
  Verdict verdict;
  std::function<void(LineDevice&)> change;
  std::vector<std::string> says;
};

void PrintTo(const Case& each, std::ostream* out) {
  *out << each.id;
}

class OneThingWrong : public testing::TestWithParam<Case> {};

TEST_P(OneThingWrong, IsToldOfThatDeviceAlone) {
  LineCheck check = GoodCheck();
  GetParam().change(check.devices[0]);
  const LineDocument document = JudgeLineCheck(check, {});
  EXPECT_EQ(document.verdict, GetParam().verdict);
  ASSERT_THAT(document.findings, SizeIs(1));
  const Finding& finding = document.findings.front();
  EXPECT_EQ(finding.id, GetParam().id);
  EXPECT_EQ(finding.severity, GetParam().severity);
  const std::string text = TextOf(&finding);
  EXPECT_THAT(text, AllOf(HasSubstr("Left 1"), Not(HasSubstr("Left 2"))));
  for (const std::string& part : GetParam().says) {
    EXPECT_THAT(text, HasSubstr(part));
  }
}

std::string CaseName(const testing::TestParamInfo<Case>& info) {
  std::string name;
  for (const char* c = info.param.id; *c != '\0'; ++c) {
    name += *c == '-' ? '_' : *c;
  }
  return name + "_" + std::to_string(info.index);
}

std::vector<Case> LostPictures() {
  using Device = LineDevice;
  return {
      {"line-frames-lost",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) {
         d.pictures.lost = 3;
         d.pictures.gaps = {{4.2, 1}, {9.9, 2}};
       },
       {"lost 3 of 503 pictures", "4.2 s (1)", "9.9 s (2)"}},
      {"line-frames-lost",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) { d.pictures.lost = d.pictures.lost_unserved = 20; },
       {"20 of them while this PC was too late", "close other programs"}},
      {"line-frames-missing",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) { d.pictures.missing_by_time = 2; },
       {"2 pictures missing", "never reached the driver"}},
      {"line-lost-at-start",
       Severity::kNote,
       Verdict::kReady,
       [](Device& d) { d.pictures.lost_at_start = 4; },
       {"lost 4 pictures while starting"}},
      {"line-other-mode",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) {
         d.mode = LineMode{"mjpeg", 1280, 720, 25, 1};
       },
       {"asked for 1280x720 yuyv422 at 25", "gave 1280x720 mjpeg at 25"}},
      {"line-slow",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) {
         d.pictures.device_rate = probes::LineRate{12.5, 12.4, 12.6};
       },
       {"12.50 pictures a second, not 25.00"}},
      {"line-rate-off",
       Severity::kWarn,
       Verdict::kTight,
       [](Device& d) {
         d.pictures.device_rate = probes::LineRate{24.975, 24.974, 24.976};
       },
       {"-1000 ppm"}},
  };
}

std::vector<Case> OddPictures() {
  using Device = LineDevice;
  return {
      {"line-jitter",
       Severity::kWarn,
       Verdict::kTight,
       [](Device& d) { d.pictures.jitter = probes::LineJitter{1, 9, 20.1, 30, 40, 10, 70}; },
       {"20.1 ms", "40.0 ms"}},
      {"line-damaged",
       Severity::kWarn,
       Verdict::kTight,
       [](Device& d) { d.pictures.flagged = 1; },
       {"1 picture damaged"}},
      {"line-short-pictures",
       Severity::kWarn,
       Verdict::kTight,
       [](Device& d) { d.pictures.short_pictures = 2; },
       {"2 pictures with less data"}},
      {"line-timestamps",
       Severity::kWarn,
       Verdict::kTight,
       [](Device& d) { d.pictures.timestamp_jumps = 1; },
       {"jump 1 time"}},
      {"line-numbers",
       Severity::kWarn,
       Verdict::kTight,
       [](Device& d) { d.pictures.number_faults = 2; },
       {"2 times"}},
      {"line-unnumbered",
       Severity::kNote,
       Verdict::kReady,
       [](Device& d) { d.pictures.numbered = false; },
       {"does not number"}},
      {"line-settings",
       Severity::kWarn,
       Verdict::kTight,
       [](Device& d) { d.settings_as_before = false; },
       {"did not take its settings back"}},
  };
}

std::vector<Case> NotOpened() {
  using Device = LineDevice;
  return {
      {"line-not-there",
       Severity::kWarn,
       Verdict::kUnproven,
       [](Device& d) {
         d = LineDevice{};
         d.source = "Left 1";
         d.outcome = LineOutcome::kNotThere;
         d.reason = "no capture device on USB for it";
       },
       {"Plug in"}},
      {"line-in-use",
       Severity::kWarn,
       Verdict::kUnproven,
       [](Device& d) {
         d.outcome = LineOutcome::kInUse;
         d.before = {};
         d.at.users = {{812, "mixer"}};
         d.pictures = {};
       },
       {"held open by mixer (process 812)", "--even-in-use"}},
      {"line-denied",
       Severity::kWarn,
       Verdict::kUnproven,
       [](Device& d) {
         d.outcome = LineOutcome::kDenied;
         d.reason = "open: Permission denied";
         d.pictures = {};
       },
       {"Permission denied", "/dev/video0"}},
      {"line-refused",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) {
         d.outcome = LineOutcome::kRefused;
         d.reason = "VIDIOC_STREAMON: Input/output error";
         d.pictures = {};
       },
       {"Input/output error"}},
  };
}

std::vector<Case> NotDelivered() {
  using Device = LineDevice;
  return {
      {"line-no-pictures",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) {
         d.outcome = LineOutcome::kNeverDelivered;
         d.pictures = {};
       },
       {"No picture ever came"}},
      {"line-no-signal",
       Severity::kWarn,
       Verdict::kUnproven,
       [](Device& d) {
         d.outcome = LineOutcome::kNeverDelivered;
         d.input_status = "no signal";
         d.pictures = {};
       },
       {"no signal", "Switch the camera on"}},
      {"line-stalled",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) { d.outcome = LineOutcome::kStalled; },
       {"after 500 pictures in 20.0 s"}},
      {"line-vanished",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) { d.outcome = LineOutcome::kVanished; },
       {"Went away", "plug, cable and power"}},
      {"line-no-answer",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) { d.outcome = LineOutcome::kNoAnswer; },
       {"driver hangs"}},
  };
}

INSTANTIATE_TEST_SUITE_P(LostPictures, OneThingWrong, testing::ValuesIn(LostPictures()), CaseName);
INSTANTIATE_TEST_SUITE_P(OddPictures, OneThingWrong, testing::ValuesIn(OddPictures()), CaseName);
INSTANTIATE_TEST_SUITE_P(NotOpened, OneThingWrong, testing::ValuesIn(NotOpened()), CaseName);
INSTANTIATE_TEST_SUITE_P(NotDelivered, OneThingWrong, testing::ValuesIn(NotDelivered()), CaseName);

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
