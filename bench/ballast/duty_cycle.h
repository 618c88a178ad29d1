// SPDX-License-Identifier: Apache-2.0
//
// When the next unit of a paced load may begin.

#pragma once

#include <cstdint>

namespace bench {

/// Units on absolute moments: unit k begins one period after unit k-1 was due,
/// however long the work took, so that the asked rate is kept on the average.
/// One that falls behind makes up at most kMostBehindNs; the rest is forgone.
class DutyCycle {
 public:
  static constexpr std::int64_t kMostBehindNs = 100'000'000;

  /// From `now_ns` on one unit every `period_ns`; 0 or less: none.
  void SetPeriod(std::int64_t period_ns, std::int64_t now_ns);
  /// Puts the unit that is due next off: threads need not begin together.
  void DelayFirst(std::int64_t delay_ns) { due_ns_ += delay_ns; }
  bool idle() const { return period_ns_ <= 0; }
  /// The moment of the next unit, perhaps past; not while idle.
  std::int64_t NextDueNs() const { return due_ns_; }
  /// A unit begins at `now_ns`.
  void Begin(std::int64_t now_ns);
  /// How long to rest after a unit that took `work_ns` and ended at `now_ns`: a
  /// tenth of it where the next is due already, so that a thread that cannot
  /// keep its pace still leaves the CPU to others many times a second.
  std::int64_t RestNs(std::int64_t work_ns, std::int64_t now_ns) const;

 private:
  std::int64_t period_ns_ = 0;
  std::int64_t due_ns_ = 0;
};

/// Period of one of `threads` that together spend `level` (units of load a
/// second: CPU seconds or bytes) on units that cost `unit_cost` each; 0 for no load.
std::int64_t PeriodNs(double level, double unit_cost, int threads);

}  // namespace bench
