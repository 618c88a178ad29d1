// SPDX-License-Identifier: Apache-2.0
//
// Time for everything that waits or measures: the machine's, or a test's own.

#pragma once

#include <atomic>
#include <cstdint>

namespace base {

/// Monotonic nanoseconds since an arbitrary start. Thread-safe.
class Clock {
 public:
  virtual ~Clock() = default;
  virtual std::int64_t NowNs() const = 0;
  /// Returns at or after `deadline_ns` (absolute); at once when it has passed.
  virtual void SleepUntilNs(std::int64_t deadline_ns) = 0;
};

/// CLOCK_MONOTONIC, sleeping to absolute deadlines.
class SystemClock : public Clock {
 public:
  std::int64_t NowNs() const override;
  void SleepUntilNs(std::int64_t deadline_ns) override;
};

/// A clock that moves only when told; a sleep moves it to the deadline.
class ManualClock : public Clock {
 public:
  std::int64_t NowNs() const override { return now_ns_.load(); }
  void SleepUntilNs(std::int64_t deadline_ns) override;
  void AdvanceNs(std::int64_t by_ns) { now_ns_ += by_ns; }

 private:
  std::atomic<std::int64_t> now_ns_{0};
};

}  // namespace base
