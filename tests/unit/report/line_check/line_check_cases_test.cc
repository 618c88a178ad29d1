// SPDX-License-Identifier: Apache-2.0
//
// One thing wrong with one of two devices: what is said, and that it is said of that one alone.

#include <functional>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/line_check/line_check.h"
#include "tests/support/line_check_sample.h"

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
using testing::Not;
using testing::SizeIs;
using tests::GoodCheck;
using tests::TextOf;

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
       {"dropped 3 of 503 frames", "4.2 s (1)", "9.9 s (2)"}},
      {"line-frames-lost",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) { d.pictures.lost = d.pictures.lost_unserved = 20; },
       {"20 of them while this PC was too late", "close other programs"}},
      {"line-frames-missing",
       Severity::kStop,
       Verdict::kShort,
       [](Device& d) { d.pictures.missing_by_time = 2; },
       {"2 frames missing", "never reached the driver"}},
      {"line-lost-at-start",
       Severity::kNote,
       Verdict::kReady,
       [](Device& d) { d.pictures.lost_at_start = 4; },
       {"dropped 4 frames while starting"}},
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
       {"12.50 frames a second, not 25.00"}},
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
       {"1 frame damaged"}},
      {"line-short-pictures",
       Severity::kWarn,
       Verdict::kTight,
       [](Device& d) { d.pictures.short_pictures = 2; },
       {"2 frames with less data"}},
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
       {"No frame ever came"}},
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
       {"after 500 frames in 20.0 s"}},
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

}  // namespace
