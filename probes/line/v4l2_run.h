// SPDX-License-Identifier: Apache-2.0
//
// One device's part of a line-check: open, choose the mode, stream until all are done, put back.

#pragma once

#include <atomic>
#include <condition_variable>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "base/clock.h"
#include "probes/data/line_check.h"
#include "probes/line/v4l2_port.h"

namespace probes {

/// How long a device is waited for.
struct LineLimits {
  std::int64_t first_picture_ns = 10'000'000'000;  // after streaming was asked for
  std::int64_t stall_ns = 3'000'000'000;           // without a picture, once there were some
  std::int64_t wait_ns = 50'000'000;               // one wait: how fast a stop is heard
  std::int64_t start_ns = 15'000'000'000;          // for all to stream or to fail
  std::int64_t end_ns = 5'000'000'000;             // to close at the end of a run
  std::int64_t end_on_stop_ns = 600'000'000;       // the same after Ctrl-C
  int buffers = 4;
  double start_seconds = 2;  // see PictureRule
};

/// What the devices of one check share. Devices begin to stream in their order, so
/// that it is always the same one that finds no bandwidth; the run's length counts
/// from when all stream or have failed.
class LineTogether {
 public:
  LineTogether(std::size_t devices, std::int64_t length_ns, const LineLimits& limits);

  /// Until all before `index` have begun, or are no longer waited for; false: stopped.
  bool AwaitTurn(std::size_t index);
  /// Device `index` streams, or never will. To be called once or more.
  void Begun(std::size_t index, std::int64_t now_ns);
  /// Device `index` is through and closed.
  void Through(std::size_t index);
  /// Ends the run for all, now.
  void Stop();
  /// No longer waits for devices that have not begun: the length counts from `now_ns`.
  void BeginWithout(std::int64_t now_ns);

  bool stopped() const { return stopped_; }
  bool Over(std::int64_t now_ns) const;
  bool AllBegun() const;
  bool AllThrough() const;
  /// When all had begun; 0: not yet.
  std::int64_t began_ns() const { return began_ns_; }
  const LineLimits& limits() const { return limits_; }

  /// Waits a moment, or until something changed.
  void WaitForChange();

 private:
  const LineLimits limits_;
  const std::int64_t length_ns_;
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<bool> begun_;
  std::vector<bool> through_;
  std::atomic<bool> stopped_{false};
  std::atomic<std::int64_t> began_ns_{0};
};

/// The run of one device on a thread of its own. What it has so far can be read from any thread.
class DeviceRun {
 public:
  DeviceRun(LineDevice device, std::size_t index, std::shared_ptr<VideoPort> port,
            std::shared_ptr<LineTogether> together);

  /// Blocks until the device is through, whatever becomes of it.
  void Run(const base::Clock& clock);
  /// In place of Run: no thread could be started for it.
  void NotStarted(const std::string& why, const base::Clock& clock);

  /// The account so far, summed up.
  LineDevice Snapshot() const;
  std::int64_t Lost() const { return lost_; }

 private:
  bool SetUp();
  bool Start(const base::Clock& clock);
  void Stream(const base::Clock& clock);
  bool TakeOne(const base::Clock& clock, std::int64_t& last_ns);
  void Fail(const VideoAnswer& answer);
  void End(LineOutcome outcome, std::string reason);
  void PutBack();

  const std::size_t index_;
  const std::shared_ptr<VideoPort> port_;
  const std::shared_ptr<LineTogether> together_;
  mutable std::mutex mutex_;  // over device_ and pictures_
  LineDevice device_;
  std::vector<PictureStamp> pictures_;
  std::atomic<int> buffers_{0};
  std::int64_t asked_to_stream_ns_ = 0;
  std::atomic<std::int64_t> lost_{0};
};

}  // namespace probes
