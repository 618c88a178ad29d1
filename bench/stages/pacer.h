// SPDX-License-Identifier: Apache-2.0
//
// When a frame may start: at its moment in real time, or as fast as the slowest part allows.

#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <mutex>
#include <vector>

#include "base/clock.h"

namespace bench {

/// Times are nanoseconds of production time, 0 = the first frame.
class Pacer {
 public:
  virtual ~Pacer() = default;
  /// A part that asks for its turns (a feed, the program, the multiview).
  /// All parts join before the first turn.
  virtual int Join() = 0;
  /// Returns when the part may do what is due then; false when stopped.
  virtual bool WaitTurn(int part, std::int64_t due_ns) = 0;
  /// The part has no more turns.
  virtual void Leave(int part) = 0;
  /// Production time by now.
  virtual std::int64_t NowNs() const = 0;
  /// Real pace: frames that find no room are dropped. Else: they wait.
  virtual bool RealTime() const = 0;
  /// Ends all waiting.
  virtual void Stop() = 0;
};

/// Frame k at start + k x period by the clock, never a sleep of one period.
class RealTimePacer : public Pacer {
 public:
  explicit RealTimePacer(base::Clock& clock) : clock_(clock) {}

  /// Production time 0 is at `start_ns` of the clock; before the first turn.
  void Begin(std::int64_t start_ns) { start_ns_ = start_ns; }

  int Join() override { return 0; }
  bool WaitTurn(int part, std::int64_t due_ns) override;
  void Leave(int /*part*/) override {}
  std::int64_t NowNs() const override { return clock_.NowNs() - start_ns_; }
  bool RealTime() const override { return true; }
  void Stop() override { stopped_ = true; }

 private:
  base::Clock& clock_;
  std::atomic<std::int64_t> start_ns_{0};
  std::atomic<bool> stopped_{false};
};

/// No part runs further ahead of the slowest than `lead_ns`.
class FlatOutPacer : public Pacer {
 public:
  explicit FlatOutPacer(std::int64_t lead_ns) : lead_ns_(lead_ns) {}

  int Join() override;
  bool WaitTurn(int part, std::int64_t due_ns) override;
  void Leave(int part) override;
  /// Where the slowest part is.
  std::int64_t NowNs() const override;
  bool RealTime() const override { return false; }
  void Stop() override;

 private:
  std::int64_t Slowest() const;

  const std::int64_t lead_ns_;
  mutable std::mutex mutex_;
  std::condition_variable moved_;
  std::vector<std::int64_t> position_ns_;  // per part; the largest value once it has left
  std::int64_t last_ns_ = 0;               // furthest position of a part that left
  std::int64_t woken_at_ns_ = 0;           // where the slowest was when the others were last woken
  bool stopped_ = false;
};

}  // namespace bench
