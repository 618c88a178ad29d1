// All devices at once: order of the starts, drivers that hang, stops.

#include "probes/v4l2_line.h"

#include <algorithm>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/unit/probes/scripted_port.h"

namespace {

using probes::LineDevice;
using probes::LineOutcome;
using probes::LineRequest;
using probes::LineRun;
using testing::ElementsAre;
using testing::SizeIs;
using tests::DeviceScript;
using tests::ScriptedPort;

/// Threads that hang outlive a test: so do the clocks that they look at.
base::ManualClock& Pictures() {
  static auto* const clock = new base::ManualClock;
  return *clock;
}
const base::Clock& Real() {
  static const base::Clock* const clock = new base::SystemClock;
  return *clock;
}

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

/// Starts are written down; everything else is as scripted.
class StartRecorder {
 public:
  std::unique_ptr<probes::VideoPort> Make(const std::string& node) {
    class Port final : public probes::VideoPort {
     public:
      Port(StartRecorder& recorder, std::string node)
          : recorder_(recorder),
            node_(std::move(node)),
            inner_(std::make_shared<DeviceScript>(), Pictures()) {}
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
        const std::lock_guard lock(recorder_.mutex_);
        recorder_.started_.push_back(node_);
        return inner_.StartStreaming(buffers, stream);
      }
      probes::VideoWait Await(std::int64_t longest_ns, probes::PictureStamp& picture) override {
        return inner_.Await(longest_ns, picture);
      }
      std::string TimestampClock() const override { return "monotonic"; }
      void StopStreaming() override { inner_.StopStreaming(); }
      base::Reading<bool> PutBackSettings() override { return inner_.PutBackSettings(); }
      void Close() override { inner_.Close(); }

     private:
      StartRecorder& recorder_;
      const std::string node_;
      ScriptedPort inner_;
    };
    return std::make_unique<Port>(*this, node);
  }
  std::vector<std::string> Started() {
    const std::lock_guard lock(mutex_);
    return started_;
  }

 private:
  std::mutex mutex_;
  std::vector<std::string> started_;
};

TEST(RunLine, DevicesBeginToStreamInTheirOrder) {
  StartRecorder recorder;
  const LineRun run = probes::RunLine(
      RequestFor({"video4", "video0", "video2"}),
      [&](const std::string& node) { return recorder.Make(node); }, Real(), {}, Ignore);
  EXPECT_THAT(recorder.Started(), ElementsAre("video4", "video0", "video2"));
  ASSERT_THAT(run.devices, SizeIs(3));
  for (const LineDevice& device : run.devices) {
    EXPECT_EQ(device.outcome, LineOutcome::kRan) << device.at.node;
    EXPECT_GT(device.pictures.delivered, 0) << device.at.node;
  }
  EXPECT_FALSE(run.interrupted);
}

TEST(RunLine, NoDevicesEndAtOnce) {
  const LineRun run = probes::RunLine(
      RequestFor({}), [](const std::string&) { return nullptr; }, Real(), {}, Ignore);
  EXPECT_THAT(run.devices, SizeIs(0));
}

TEST(RunLine, StopEndsItAndMarksItInterrupted) {
  StartRecorder recorder;
  LineRequest request = RequestFor({"video0", "video1"});
  request.seconds = 3600;
  std::stop_source stop;
  const LineRun run = probes::RunLine(
      request, [&](const std::string& node) { return recorder.Make(node); }, Real(),
      stop.get_token(),
      [&](const probes::LineProgress& at) {
        if (at.all_begun) {
          stop.request_stop();
        }
      });
  EXPECT_TRUE(run.interrupted);
  EXPECT_LT(run.seconds, 3600);
}

/// Holds whoever waits until it is opened.
struct Gate {
  std::mutex mutex;
  std::condition_variable changed;
  bool open = false;
  int through = 0;

  void Wait() {
    std::unique_lock lock(mutex);
    changed.wait(lock, [this] { return open; });
    ++through;
    changed.notify_all();
  }
  void OpenAndAwait(int count) {
    std::unique_lock lock(mutex);
    open = true;
    changed.notify_all();
    changed.wait(lock, [&] { return through == count; });
  }
};

/// A driver that does not return from open.
class HangingPort final : public probes::VideoPort {
 public:
  explicit HangingPort(std::shared_ptr<Gate> gate) : gate_(std::move(gate)) {}
  probes::VideoAnswer Open() override {
    gate_->Wait();
    return {probes::VideoFault::kGone, "open: No such device"};
  }
  probes::VideoAnswer Identify(probes::VideoIdentity&) override { return {}; }
  probes::VideoAnswer KeepSettings(probes::LineMode&) override { return {}; }
  probes::VideoAnswer Choose(const probes::LineMode&, probes::LineMode&) override { return {}; }
  probes::VideoAnswer StartStreaming(int, probes::StreamStart&) override { return {}; }
  probes::VideoWait Await(std::int64_t, probes::PictureStamp&) override { return {}; }
  std::string TimestampClock() const override { return {}; }
  void StopStreaming() override {}
  base::Reading<bool> PutBackSettings() override { return {}; }
  void Close() override {}

 private:
  std::shared_ptr<Gate> gate_;
};

TEST(RunLine, DriverThatHangsIsLeftBehindAndTheOthersRun) {
  auto gate = std::make_shared<Gate>();
  LineRequest request = RequestFor({"video0", "video2"});
  request.limits.start_ns = 1'000'000;
  request.limits.end_ns = 1'000'000;
  const LineRun run = probes::RunLine(
      request,
      [&](const std::string& node) -> std::unique_ptr<probes::VideoPort> {
        if (node == "video0") {
          return std::make_unique<HangingPort>(gate);
        }
        return std::make_unique<ScriptedPort>(std::make_shared<DeviceScript>(), Pictures());
      },
      Real(), {}, Ignore);
  EXPECT_EQ(run.devices[0].outcome, LineOutcome::kNoAnswer);
  EXPECT_NE(run.devices[1].outcome, LineOutcome::kNoAnswer);
  gate->OpenAndAwait(1);
}

}  // namespace
