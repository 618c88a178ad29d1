// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_run.h"

#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/scripted_port.h"

namespace {

using probes::LineDevice;
using probes::LineMode;
using probes::LineOutcome;
using probes::VideoFault;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;
using tests::DeviceScript;
using tests::PictureEvent;
using tests::ScriptedPort;

constexpr std::int64_t kSecond = 1'000'000'000;
constexpr std::int64_t kRunSeconds = 10;

PictureEvent Silence() {
  return {.kind = PictureEvent::Kind::kSilence};
}
PictureEvent Fault(VideoFault fault, const std::string& detail) {
  return {.kind = PictureEvent::Kind::kFault, .fault = {fault, detail}};
}
PictureEvent Picture(std::uint32_t number) {
  return {.number = number};
}
std::vector<PictureEvent> Pictures(std::uint32_t first, std::uint32_t count) {
  std::vector<PictureEvent> events;
  for (std::uint32_t i = 0; i < count; ++i) {
    events.push_back(Picture(first + i));
  }
  return events;
}

class DeviceRunTest : public testing::Test {
 protected:
  DeviceRunTest() { clock_.AdvanceNs(kSecond); }

  LineDevice Run() {
    LineDevice device;
    device.at.node = "video0";
    device.asked = asked_;
    probes::LineLimits limits;
    limits.start_seconds = 1;
    auto together = std::make_shared<probes::LineTogether>(1, kRunSeconds * kSecond, limits);
    if (stopped_) {
      together->Stop();
    }
    probes::DeviceRun run(device, 0, std::make_shared<ScriptedPort>(script_, clock_), together);
    run.Run(clock_);
    EXPECT_TRUE(together->AllThrough());
    return run.Snapshot();
  }

  std::shared_ptr<DeviceScript> script_ = std::make_shared<DeviceScript>();
  base::ManualClock clock_;
  std::optional<LineMode> asked_;
  bool stopped_ = false;
};

TEST_F(DeviceRunTest, RunsAtItsCurrentModeAndChangesNothing) {
  const LineDevice device = Run();
  EXPECT_EQ(device.outcome, LineOutcome::kRan);
  EXPECT_EQ(device.pictures.delivered, kRunSeconds * 25);
  EXPECT_EQ(device.pictures.lost, 0);
  EXPECT_DOUBLE_EQ(*device.first_picture_ms, 40);
  EXPECT_EQ(device.timestamps, "monotonic");
  EXPECT_EQ(device.settings_as_before, base::Reading<bool>(true));
  EXPECT_THAT(script_->calls,
              ElementsAre("open", "identify", "keep", "start", "stop", "put back", "close"));
}

TEST_F(DeviceRunTest, TakesTheModeThatIsAskedForAndPutsTheOldOneBack) {
  asked_ = LineMode{"nv12", 4, 2, 50, 1};
  const LineDevice device = Run();
  EXPECT_EQ(device.outcome, LineOutcome::kRan);
  EXPECT_EQ(device.mode->pixel_format, "nv12");
  EXPECT_EQ(device.before->pixel_format, "yuyv422");
  EXPECT_EQ(script_->current.pixel_format, "yuyv422");
  EXPECT_EQ(script_->current.width, 2);
}

TEST_F(DeviceRunTest, ModeThatIsSetAlreadyIsNotSetAgain) {
  // A driver that counts in 100 ns writes 1/25 s as it likes.
  asked_ = LineMode{"yuyv422", 2, 1, 2500001, 100000};
  Run();
  EXPECT_THAT(script_->calls, Not(Contains("choose")));
}

TEST_F(DeviceRunTest, ModeThatTheDriverMadeOfItIsKept) {
  asked_ = LineMode{"nv12", 4, 2, 50, 1};
  script_->obeys = false;
  const LineDevice device = Run();
  EXPECT_EQ(device.outcome, LineOutcome::kRan) << "it runs all the same, as evidence";
  EXPECT_FALSE(probes::SameMode(*device.asked, *device.mode));
}

TEST_F(DeviceRunTest, RefusalToOpenIsTold) {
  script_->open = {VideoFault::kDenied, "open: Permission denied"};
  const LineDevice device = Run();
  EXPECT_EQ(device.outcome, LineOutcome::kDenied);
  EXPECT_EQ(device.reason, "open: Permission denied");
  EXPECT_EQ(device.pictures.delivered, 0);
}

TEST_F(DeviceRunTest, NodeThatDoesNotCaptureIsRefused) {
  script_->identity.captures = false;
  EXPECT_EQ(Run().outcome, LineOutcome::kRefused);
  EXPECT_THAT(script_->calls, Not(Contains("start")));
}

TEST_F(DeviceRunTest, NoSpaceAtStreamOnIsNoBandwidth) {
  asked_ = LineMode{"nv12", 4, 2, 50, 1};
  script_->start = {VideoFault::kNoBandwidth, "VIDIOC_STREAMON: No space left on device"};
  const LineDevice device = Run();
  EXPECT_EQ(device.outcome, LineOutcome::kNoBandwidth);
  EXPECT_THAT(device.reason, HasSubstr("No space left"));
  EXPECT_EQ(script_->current.pixel_format, "yuyv422") << "put back after a failure too";
}

TEST_F(DeviceRunTest, BusyDeviceIsInUse) {
  script_->start = {VideoFault::kBusy, "VIDIOC_REQBUFS: Device or resource busy"};
  EXPECT_EQ(Run().outcome, LineOutcome::kInUse);
}

TEST_F(DeviceRunTest, ModeThatCannotBeSetIsPutBackAndTold) {
  asked_ = LineMode{"nv12", 4, 2, 50, 1};
  script_->choose = {VideoFault::kRefused, "VIDIOC_S_PARM: Invalid argument"};
  EXPECT_EQ(Run().outcome, LineOutcome::kRefused);
  EXPECT_EQ(script_->current.width, 2);
  EXPECT_THAT(script_->calls, Not(Contains("start")));
}

TEST_F(DeviceRunTest, DeviceThatNeverDeliversIsNotWaitedForForEver) {
  script_->after = Silence();
  const LineDevice device = Run();
  EXPECT_EQ(device.outcome, LineOutcome::kNeverDelivered);
  EXPECT_FALSE(device.first_picture_ms);
  EXPECT_LT(clock_.NowNs(), 12 * kSecond);
}

TEST_F(DeviceRunTest, DeviceThatFallsSilentHasStalled) {
  script_->events = Pictures(0, 50);
  script_->after = Silence();
  const LineDevice device = Run();
  EXPECT_EQ(device.outcome, LineOutcome::kStalled);
  EXPECT_EQ(device.pictures.delivered, 50);
  EXPECT_LT(clock_.NowNs(), 7 * kSecond);
}

TEST_F(DeviceRunTest, DeviceThatGoesAwayHasVanished) {
  script_->events = Pictures(0, 30);
  script_->events.push_back(Fault(VideoFault::kGone, "VIDIOC_DQBUF: No such device"));
  const LineDevice device = Run();
  EXPECT_EQ(device.outcome, LineOutcome::kVanished);
  EXPECT_EQ(device.pictures.delivered, 30);
}

TEST_F(DeviceRunTest, StreamThatBreaksOffHasStalled) {
  script_->events = Pictures(0, 30);
  script_->events.push_back(Fault(VideoFault::kRefused, "VIDIOC_DQBUF: Input/output error"));
  EXPECT_EQ(Run().outcome, LineOutcome::kStalled);
}

TEST_F(DeviceRunTest, GapAcrossTheWrapOfNumbersIsCounted) {
  script_->events = Pictures(0xffffffd0U, 40);
  for (const PictureEvent& event : Pictures(3, 10)) {
    script_->events.push_back(event);
  }
  const LineDevice device = Run();
  EXPECT_EQ(device.pictures.lost, 3 + 8);
  EXPECT_EQ(device.pictures.number_faults, 0);
}

TEST_F(DeviceRunTest, FlaggedAndShortPicturesAreCounted) {
  script_->events = Pictures(0, 60);
  script_->events[40].flagged = true;
  script_->events[50].bytes = 3;  // two pixels of yuyv422 have four bytes
  const LineDevice device = Run();
  EXPECT_EQ(device.pictures.flagged, 1);
  EXPECT_EQ(device.pictures.short_pictures, 1);
}

TEST_F(DeviceRunTest, TimestampsThatJumpAreCounted) {
  script_->events = Pictures(0, 60);
  for (std::size_t i = 45; i < 60; ++i) {
    script_->events[i].timestamp_shift_ns = -20 * kSecond;
  }
  // Back at once, and ahead again when the script ends.
  EXPECT_EQ(Run().pictures.timestamp_jumps, 2);
}

TEST_F(DeviceRunTest, SettingsThatWereNotTakenBackAreTold) {
  asked_ = LineMode{"nv12", 4, 2, 50, 1};
  script_->takes_back = false;
  EXPECT_EQ(Run().settings_as_before, base::Reading<bool>(false));
}

TEST_F(DeviceRunTest, ThatMemoryRunsOutAtTheEndIsTold) {
  script_->throws_at_the_end = true;
  const LineDevice device = Run();
  EXPECT_EQ(device.outcome, LineOutcome::kRan);
  EXPECT_EQ(device.settings_as_before.why_unknown(), "failed: std::bad_alloc");
}

TEST_F(DeviceRunTest, StopBeforeTheStartLeavesItUntried) {
  stopped_ = true;
  const LineDevice device = Run();
  EXPECT_EQ(device.outcome, LineOutcome::kNotTried);
  EXPECT_THAT(script_->calls, Not(Contains("start")));
  EXPECT_THAT(script_->calls, Contains("close"));
}

TEST_F(DeviceRunTest, StatusOfTheInputIsKept) {
  script_->identity.input_status = "no signal";
  script_->after = Silence();
  EXPECT_EQ(Run().input_status, "no signal");
}

}  // namespace
