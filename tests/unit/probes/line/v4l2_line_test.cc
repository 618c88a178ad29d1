// SPDX-License-Identifier: Apache-2.0
//
// All devices at once: order of the starts, drivers that hang, stops.

#include "probes/line/v4l2_line.h"

#include <atomic>
#include <condition_variable>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/no_more_threads.h"
#include "tests/support/scripted_port.h"

namespace {

using probes::LineDevice;
using probes::LineOutcome;
using probes::LineRequest;
using probes::LineRun;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::SizeIs;
using tests::DeviceScript;
using tests::ScriptedPort;

/// Stands still until it is moved; once it is let run, each look at it takes a millisecond.
class TestClock final : public base::Clock {
 public:
  std::int64_t NowNs() const override {
    return runs_ ? now_ns_.fetch_add(1'000'000) : now_ns_.load();
  }
  void SleepUntilNs(std::int64_t deadline_ns) override { now_ns_ = deadline_ns; }
  void AdvanceNs(std::int64_t by_ns) { now_ns_ += by_ns; }
  void LetRun() { runs_ = true; }

 private:
  mutable std::atomic<std::int64_t> now_ns_{0};
  std::atomic<bool> runs_{false};
};

LineRequest RequestFor(const std::vector<std::string>& nodes) {
  LineRequest request;
  for (const std::string& node : nodes) {
    LineDevice device;
    device.at.node = node;
    request.devices.push_back(device);
  }
  request.seconds = 0.002;
  return request;
}

void Ignore(const probes::LineProgress& /*at*/) {}

/// Writes starts down and moves the run's clock: with every picture once each of
/// `devices` has had two, and by itself once all are closed. No device gets its third
/// picture before the others have theirs. Of no devices nothing is waited for.
class Recorder : public std::enable_shared_from_this<Recorder> {
 public:
  Recorder(TestClock& clock, std::size_t devices) : clock_(clock), devices_(devices) {}

  std::unique_ptr<probes::VideoPort> Make(const std::string& node);
  std::vector<std::string> Started() {
    const std::lock_guard lock(mutex_);
    return started_;
  }
  void Start(const std::string& node) {
    const std::lock_guard lock(mutex_);
    started_.push_back(node);
  }
  void Picture(const std::string& node) {
    constexpr int kFew = 2;
    std::unique_lock lock(mutex_);
    const int pictures = ++pictures_[node];
    if (pictures == kFew && ++fed_ == devices_) {
      changed_.notify_all();
    }
    changed_.wait(lock, [&] { return pictures <= kFew || fed_ >= devices_; });
    if (devices_ > 0 && fed_ >= devices_) {
      clock_.AdvanceNs(10'000'000);  // the run's length, five times
    }
  }
  void Close() {
    const std::lock_guard lock(mutex_);
    if (++closed_ == devices_) {
      clock_.LetRun();
    }
  }

 private:
  TestClock& clock_;
  const std::size_t devices_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<std::string> started_;
  std::map<std::string, int> pictures_;
  std::size_t fed_ = 0;
  std::size_t closed_ = 0;
};

class RecordedPort final : public probes::VideoPort {
 public:
  RecordedPort(std::shared_ptr<Recorder> recorder, std::string node)
      : recorder_(std::move(recorder)),
        node_(std::move(node)),
        inner_(std::make_shared<DeviceScript>(), pictures_) {}
  probes::VideoAnswer Open() override { return inner_.Open(); }
  probes::VideoAnswer Identify(probes::VideoIdentity& identity) override {
    return inner_.Identify(identity);
  }
  probes::VideoAnswer KeepSettings(probes::LineMode& now) override {
    return inner_.KeepSettings(now);
  }
  probes::VideoAnswer Choose(const probes::LineMode& asked, probes::LineMode& got) override {
    return inner_.Choose(asked, got);
  }
  probes::VideoAnswer StartStreaming(int buffers, probes::StreamStart& stream) override {
    recorder_->Start(node_);
    return inner_.StartStreaming(buffers, stream);
  }
  probes::VideoWait Await(std::int64_t longest_ns, probes::PictureStamp& picture) override {
    recorder_->Picture(node_);
    return inner_.Await(longest_ns, picture);
  }
  std::string TimestampClock() const override { return "monotonic"; }
  void StopStreaming() override { inner_.StopStreaming(); }
  base::Reading<bool> PutBackSettings() override { return inner_.PutBackSettings(); }
  void Close() override {
    inner_.Close();
    recorder_->Close();
  }

 private:
  const std::shared_ptr<Recorder> recorder_;
  const std::string node_;
  base::ManualClock pictures_;
  ScriptedPort inner_;
};

std::unique_ptr<probes::VideoPort> Recorder::Make(const std::string& node) {
  return std::make_unique<RecordedPort>(shared_from_this(), node);
}

TEST(RunLine, DevicesBeginToStreamInTheirOrder) {
  TestClock clock;
  const auto recorder = std::make_shared<Recorder>(clock, 3);
  const LineRun run = probes::RunLine(
      RequestFor({"video4", "video0", "video2"}),
      [&](const std::string& node) { return recorder->Make(node); }, clock, {}, Ignore);
  EXPECT_THAT(recorder->Started(), ElementsAre("video4", "video0", "video2"));
  ASSERT_THAT(run.devices, SizeIs(3));
  for (const LineDevice& device : run.devices) {
    EXPECT_EQ(device.outcome, LineOutcome::kRan) << device.at.node;
    EXPECT_GT(device.pictures.delivered, 0) << device.at.node;
  }
  EXPECT_FALSE(run.interrupted);
}

TEST(RunLine, NoDevicesEndAtOnce) {
  const LineRun run = probes::RunLine(
      RequestFor({}), [](const std::string&) { return nullptr; }, TestClock(), {}, Ignore);
  EXPECT_THAT(run.devices, SizeIs(0));
}

TEST(RunLine, StopEndsItAndMarksItInterrupted) {
  TestClock clock;
  const auto recorder = std::make_shared<Recorder>(clock, 0);
  const LineRequest request = RequestFor({"video0", "video1"});
  std::stop_source stop;
  const LineRun run = probes::RunLine(
      request, [&](const std::string& node) { return recorder->Make(node); }, clock,
      stop.get_token(),
      [&](const probes::LineProgress& at) {
        if (at.all_begun) {
          stop.request_stop();
        }
      });
  EXPECT_TRUE(run.interrupted);
  EXPECT_EQ(run.seconds, 0);
}

TEST(RunLine, DriverThatHangsIsLeftBehindAndTheOthersRun) {
  auto gate = std::make_shared<tests::Gate>();
  TestClock clock;
  const auto recorder = std::make_shared<Recorder>(clock, 1);
  LineRequest request = RequestFor({"video0", "video2"});
  request.limits.start_ns = -1;  // no time at all for those that have not begun
  request.limits.end_ns = 1'000'000;
  const LineRun run = probes::RunLine(
      request,
      [&](const std::string& node) -> std::unique_ptr<probes::VideoPort> {
        if (node == "video0") {
          return std::make_unique<tests::HangingPort>(gate);
        }
        return recorder->Make(node);
      },
      clock, {}, Ignore);
  EXPECT_EQ(run.devices[0].outcome, LineOutcome::kNoAnswer);
  EXPECT_EQ(run.devices[1].outcome, LineOutcome::kRan);
  gate->OpenAndAwait(2);  // opened and closed: it no longer looks at the clock
}

TEST(RunLine, DeviceWithoutRoomForItsThreadIsToldAndTheOthersRun) {
  const tests::NoMoreThreads none;
  bool none_left = true;
  TestClock clock;
  const auto recorder = std::make_shared<Recorder>(clock, 1);
  const LineRun run = probes::RunLine(
      RequestFor({"video0", "video2"}),
      [&](const std::string& node) {
        none_left = node == "video0" || none.Begin();
        return recorder->Make(node);
      },
      clock, {}, Ignore);
  if (!none_left) {
    GTEST_SKIP() << "SKIPPED: this system takes no stack of that size";
  }
  EXPECT_EQ(run.devices[0].outcome, LineOutcome::kRan);
  EXPECT_EQ(run.devices[1].outcome, LineOutcome::kRefused);
  EXPECT_THAT(run.devices[1].reason, HasSubstr("no room for another thread"));
}

}  // namespace
