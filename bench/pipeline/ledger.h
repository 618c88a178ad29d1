// SPDX-License-Identifier: Apache-2.0
//
// The ledger: every frame that fell due is delivered, dropped with its stage, or still in flight.

#pragma once

#include <cstdint>
#include <mutex>
#include <string>
#include <vector>

#include "base/rational.h"
#include "base/stats/histogram.h"
#include "bench/data/results.h"
#include "bench/data/stage.h"

namespace bench {

/// Due moment of frame `index` at `rate`, in nanoseconds from the first.
std::int64_t DueNs(std::int64_t index, const base::Rational& rate);

/// The account of one output or feed. Thread-safe. After Withdraw() with no
/// more calls, due == delivered + dropped holds per second and in total.
class Ledger {
 public:
  explicit Ledger(base::Rational rate) : rate_(rate) {}

  /// Frame `index` fell due: it is in flight from now on.
  void Due(std::int64_t index);
  /// It arrived at its end `lateness_ns` after its moment; `now_ns` is production time.
  void Delivered(std::int64_t index, std::int64_t lateness_ns, std::int64_t now_ns);
  /// It arrived while a stage was being emptied at the end: no lateness is known.
  void DeliveredAtEnd(std::int64_t index);
  /// It was dropped in front of `stage`.
  void Dropped(std::int64_t index, Stage stage);
  /// The run is over before its time: frames in flight are no longer due.
  void Withdraw();

  /// The run is over: frames still in flight were lost inside `stage`.
  void LoseInFlight(Stage stage);

  struct Totals {
    std::int64_t due = 0;
    std::int64_t delivered = 0;
    std::int64_t dropped = 0;
    std::int64_t late = 0;
    std::int64_t withdrawn = 0;
  };
  Totals totals() const;
  /// Production time of the first delivery; negative while there is none.
  std::int64_t first_delivery_ns() const;
  std::vector<LedgerWindow> windows() const;
  Lateness lateness() const;
  /// Runs of consecutive drops, in order; at most kMostRuns, the rest counted.
  std::vector<DropRun> drop_runs(const std::string& output) const;
  std::int64_t drop_runs_left_out() const;

  static constexpr std::size_t kMostRuns = 2000;

 private:
  struct Run {
    std::int64_t first = 0;
    std::int64_t last = 0;
    std::int64_t frames = 0;
    Stage stage = Stage::kNone;
  };
  LedgerWindow& WindowOf(std::int64_t index);
  void CountDelivered(std::int64_t index);

  const base::Rational rate_;
  mutable std::mutex mutex_;
  Totals totals_;
  std::vector<LedgerWindow> windows_;
  std::vector<std::int64_t> in_flight_;  // per window
  base::Histogram lateness_;
  std::vector<Run> runs_;
  std::int64_t runs_left_out_ = 0;
  std::int64_t first_delivery_ns_ = -1;
};

}  // namespace bench
