// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_run.h"

#include <algorithm>
#include <chrono>
#include <exception>
#include <utility>

#include <fmt/format.h>

#include "base/failure_text.h"
#include "base/text.h"
#include "probes/line/v4l2_formats.h"

namespace probes {
namespace {

constexpr auto kMoment = std::chrono::milliseconds(20);

LineOutcome OutcomeOf(VideoFault fault) {
  switch (fault) {
    case VideoFault::kNoBandwidth:
      return LineOutcome::kNoBandwidth;
    case VideoFault::kBusy:
      return LineOutcome::kInUse;
    case VideoFault::kGone:
      return LineOutcome::kVanished;
    case VideoFault::kDenied:
      return LineOutcome::kDenied;
    case VideoFault::kNone:
    case VideoFault::kRefused:
      break;
  }
  return LineOutcome::kRefused;
}

}  // namespace

LineTogether::LineTogether(std::size_t devices, std::int64_t length_ns, const LineLimits& limits)
    : limits_(limits), length_ns_(length_ns), begun_(devices, false), through_(devices, false) {}

bool LineTogether::AwaitTurn(std::size_t index) {
  std::unique_lock lock(mutex_);
  const auto turn = begun_.begin() + static_cast<std::ptrdiff_t>(index);
  changed_.wait(lock, [&] {
    return stopped_ || began_ns_ != 0 ||
           std::all_of(begun_.begin(), turn, [](bool each) { return each; });
  });
  return !stopped_;
}

void LineTogether::Begun(std::size_t index, std::int64_t now_ns) {
  const std::lock_guard lock(mutex_);
  begun_[index] = true;
  if (began_ns_ == 0 && std::all_of(begun_.begin(), begun_.end(), [](bool each) { return each; })) {
    began_ns_ = std::max<std::int64_t>(1, now_ns);
  }
  changed_.notify_all();
}

void LineTogether::Through(std::size_t index) {
  const std::lock_guard lock(mutex_);
  through_[index] = true;
  changed_.notify_all();
}

void LineTogether::Stop() {
  const std::lock_guard lock(mutex_);
  stopped_ = true;
  changed_.notify_all();
}

void LineTogether::BeginWithout(std::int64_t now_ns) {
  const std::lock_guard lock(mutex_);
  if (began_ns_ == 0) {
    began_ns_ = std::max<std::int64_t>(1, now_ns);
  }
  changed_.notify_all();
}

bool LineTogether::Over(std::int64_t now_ns) const {
  return stopped_ || (began_ns_ != 0 && now_ns >= began_ns_ + length_ns_);
}

bool LineTogether::AllBegun() const {
  return began_ns_ != 0;
}

bool LineTogether::AllThrough() const {
  const std::lock_guard lock(mutex_);
  return std::all_of(through_.begin(), through_.end(), [](bool each) { return each; });
}

void LineTogether::WaitForChange() {
  std::unique_lock lock(mutex_);
  changed_.wait_for(lock, kMoment);
}

DeviceRun::DeviceRun(LineDevice device, std::size_t index, std::shared_ptr<VideoPort> port,
                     std::shared_ptr<LineTogether> together)
    : index_(index),
      port_(std::move(port)),
      together_(std::move(together)),
      device_(std::move(device)) {
  // What stands there if its driver never answers.
  device_.outcome = LineOutcome::kNoAnswer;
  device_.reason = "a call into its driver did not return";
}

void DeviceRun::End(LineOutcome outcome, std::string reason) {
  const std::lock_guard lock(mutex_);
  device_.outcome = outcome;
  device_.reason = std::move(reason);
}

void DeviceRun::Fail(const VideoAnswer& answer) {
  End(OutcomeOf(answer.fault), answer.detail);
}

bool DeviceRun::SetUp() {
  if (const VideoAnswer opened = port_->Open(); !opened.ok()) {
    Fail(opened);
    return false;
  }
  VideoIdentity identity;
  if (const VideoAnswer told = port_->Identify(identity); !told.ok()) {
    Fail(told);
    return false;
  }
  if (!identity.captures) {
    End(LineOutcome::kRefused, "the node offers no video capture by streaming");
    return false;
  }
  LineMode now;
  if (const VideoAnswer read = port_->KeepSettings(now); !read.ok()) {
    Fail(read);
    return false;
  }
  LineMode got = now;
  const bool choose = device_.asked && !SameMode(*device_.asked, now);
  const VideoAnswer chosen = choose ? port_->Choose(*device_.asked, got) : VideoAnswer{};
  {
    const std::lock_guard lock(mutex_);
    device_.input_status = identity.input_status;
    device_.at.card = identity.card;
    device_.at.driver = identity.driver;
    device_.before = now;
    device_.mode = got;
  }
  if (!chosen.ok()) {
    Fail(chosen);
  }
  return chosen.ok();
}

bool DeviceRun::Start(const base::Clock& clock) {
  if (!together_->AwaitTurn(index_)) {
    End(LineOutcome::kNotTried, "stopped before it began to stream");
    return false;
  }
  StreamStart stream;
  asked_to_stream_ns_ = clock.NowNs();
  const VideoAnswer started = port_->StartStreaming(together_->limits().buffers, stream);
  together_->Begun(index_, clock.NowNs());
  if (!started.ok()) {
    Fail(started);
    return false;
  }
  buffers_ = stream.buffers;
  return true;
}

bool DeviceRun::TakeOne(const base::Clock& clock, std::int64_t& last_ns) {
  PictureStamp picture;
  const VideoWait wait = port_->Await(together_->limits().wait_ns, picture);
  const std::int64_t now_ns = clock.NowNs();
  if (wait.picture) {
    picture.arrived_ns = now_ns;
    last_ns = now_ns;
    const std::lock_guard lock(mutex_);
    if (pictures_.empty()) {
      device_.first_picture_ms = static_cast<double>(now_ns - asked_to_stream_ns_) / 1e6;
      device_.timestamps = port_->TimestampClock();
    } else {
      lost_ += LostBetween(pictures_.back().number, picture.number).value_or(0);
    }
    pictures_.push_back(picture);
  }
  if (!wait.answer.ok()) {
    Fail(wait.answer);
    return false;
  }
  return true;
}

void DeviceRun::Stream(const base::Clock& clock) {
  const LineLimits& limits = together_->limits();
  std::int64_t last_ns = asked_to_stream_ns_;
  while (!together_->Over(clock.NowNs())) {
    if (!TakeOne(clock, last_ns)) {
      const std::lock_guard lock(mutex_);
      // A stream that ran and then broke off is no refusal to open.
      if (device_.outcome == LineOutcome::kRefused || device_.outcome == LineOutcome::kInUse) {
        device_.outcome = pictures_.empty() ? LineOutcome::kNeverDelivered : LineOutcome::kStalled;
      }
      return;
    }
    const std::int64_t silent_ns = clock.NowNs() - last_ns;
    if (pictures_.empty() && silent_ns > limits.first_picture_ns) {
      return End(LineOutcome::kNeverDelivered,
                 fmt::format("no frame within {:.0f} s of streaming",
                             static_cast<double>(limits.first_picture_ns) / 1e9));
    }
    if (!pictures_.empty() && silent_ns > limits.stall_ns) {
      return End(LineOutcome::kStalled,
                 fmt::format("no more frames for {:.1f} s", static_cast<double>(silent_ns) / 1e9));
    }
  }
  if (pictures_.empty() && together_->stopped()) {
    return End(LineOutcome::kNotTried, "stopped before its first frame");
  }
  if (pictures_.empty()) {
    return End(LineOutcome::kNeverDelivered, "no frame until the end of the run");
  }
  End(LineOutcome::kRan, "");
}

void DeviceRun::PutBack() {
  port_->StopStreaming();
  base::Reading<bool> as_before = port_->PutBackSettings();
  port_->Close();
  const std::lock_guard lock(mutex_);
  device_.settings_as_before = std::move(as_before);
}

void DeviceRun::Run(const base::Clock& clock) {
  try {
    if (SetUp() && Start(clock)) {
      Stream(clock);
    }
  } catch (const std::exception& failure) {
    End(LineOutcome::kRefused, base::FailureText(failure));
  }
  together_->Begun(index_, clock.NowNs());
  try {
    PutBack();
  } catch (const std::exception& failure) {
    const std::lock_guard lock(mutex_);
    device_.settings_as_before = base::Reading<bool>::Unknown(base::FailureText(failure));
  }
  together_->Through(index_);
}

void DeviceRun::NotStarted(const std::string& why, const base::Clock& clock) {
  End(LineOutcome::kRefused, "no room for another thread: " + base::Printable(why));
  together_->Begun(index_, clock.NowNs());
  together_->Through(index_);
}

LineDevice DeviceRun::Snapshot() const {
  LineDevice device;
  std::vector<PictureStamp> pictures;
  {
    const std::lock_guard lock(mutex_);
    device = device_;
    pictures = pictures_;
  }
  PictureRule rule;
  rule.buffers = std::max(2, buffers_.load());
  rule.start_seconds = together_->limits().start_seconds;
  if (device.mode) {
    rule.asked_per_second = PicturesPerSecond(*device.mode);
    rule.least_bytes =
        LeastPictureBytes(device.mode->pixel_format, device.mode->width, device.mode->height);
  }
  device.pictures = SumPictures(pictures, rule);
  return device;
}

}  // namespace probes
