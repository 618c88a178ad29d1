// SPDX-License-Identifier: Apache-2.0
//
// A capture device that plays a script on a test's clock, and writes down what it was asked.

#pragma once

#include <cstdint>
#include <memory>
#include <mutex>
#include <new>
#include <string>
#include <utility>
#include <vector>

#include "base/clock.h"
#include "probes/line/v4l2_port.h"
#include "tests/support/gate.h"

namespace tests {

/// What a wait for a picture comes to.
struct PictureEvent {
  enum class Kind { kPicture, kSilence, kFault } kind = Kind::kPicture;
  std::uint32_t number = 0;
  bool flagged = false;
  std::int64_t bytes = 4;
  std::int64_t timestamp_shift_ns = 0;
  probes::VideoAnswer fault = {};
};

/// A device's habits and settings; shared with the test, which looks at them afterwards.
struct DeviceScript {
  probes::VideoAnswer open;
  probes::VideoAnswer choose;
  probes::VideoAnswer start;
  probes::VideoIdentity identity{true, "Lab Camera", "lab", {"yuyv422"}, ""};
  probes::LineMode current{"yuyv422", 2, 1, 25, 1};
  bool obeys = true;  // takes the mode that it is asked for
  bool takes_back = true;
  bool throws_at_the_end = false;
  std::vector<PictureEvent> events;  // then `after` for ever
  PictureEvent after;                // pictures count on by themselves

  std::mutex mutex;
  std::vector<std::string> calls;
};

class ScriptedPort final : public probes::VideoPort {
 public:
  static constexpr std::int64_t kPeriodNs = 40'000'000;

  ScriptedPort(std::shared_ptr<DeviceScript> script, base::ManualClock& clock)
      : script_(std::move(script)), clock_(clock) {}

  probes::VideoAnswer Open() override { return Called("open", script_->open); }
  probes::VideoAnswer Identify(probes::VideoIdentity& identity) override {
    identity = script_->identity;
    return Called("identify", {});
  }
  probes::VideoAnswer KeepSettings(probes::LineMode& now) override {
    now = kept_ = script_->current;
    return Called("keep", {});
  }
  probes::VideoAnswer Choose(const probes::LineMode& asked, probes::LineMode& got) override {
    if (script_->obeys) {
      script_->current = asked;
    }
    got = script_->current;
    return Called("choose", script_->choose);
  }
  probes::VideoAnswer StartStreaming(int buffers, probes::StreamStart& stream) override {
    stream.buffers = buffers;
    return Called("start", script_->start);
  }
  probes::VideoWait Await(std::int64_t longest_ns, probes::PictureStamp& picture) override {
    const PictureEvent event = Next();
    switch (event.kind) {
      case PictureEvent::Kind::kSilence:
        clock_.AdvanceNs(longest_ns);
        return {};
      case PictureEvent::Kind::kFault:
        return {event.fault, false};
      case PictureEvent::Kind::kPicture:
        break;
    }
    clock_.AdvanceNs(kPeriodNs);
    picture.number = event.number;
    picture.timestamp_ns = clock_.NowNs() + event.timestamp_shift_ns;
    picture.bytes = event.bytes;
    picture.flagged = event.flagged;
    number_ = event.number;
    return {{}, true};
  }
  std::string TimestampClock() const override { return "monotonic"; }
  void StopStreaming() override { Called("stop", {}); }
  base::Reading<bool> PutBackSettings() override {
    Called("put back", {});
    if (script_->throws_at_the_end) {
      throw std::bad_alloc();
    }
    if (script_->takes_back && kept_.width > 0) {
      script_->current = kept_;
    }
    return script_->current.width == kept_.width &&
           script_->current.pixel_format == kept_.pixel_format;
  }
  void Close() override { Called("close", {}); }

 private:
  probes::VideoAnswer Called(const char* name, const probes::VideoAnswer& answer) {
    const std::lock_guard lock(script_->mutex);
    script_->calls.emplace_back(name);
    return answer;
  }
  PictureEvent Next() {
    if (at_ < script_->events.size()) {
      return script_->events[at_++];
    }
    PictureEvent event = script_->after;
    event.number = number_ + 1;
    return event;
  }

  std::shared_ptr<DeviceScript> script_;
  base::ManualClock& clock_;
  probes::LineMode kept_;
  std::size_t at_ = 0;
  std::uint32_t number_ = 0xffffffffU;  // the first is 0
};

/// A driver that does not return from open; once let through, it closes.
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
  void Close() override { gate_->Wait(); }

 private:
  std::shared_ptr<Gate> gate_;
};

}  // namespace tests
