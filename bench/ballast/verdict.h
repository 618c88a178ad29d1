// SPDX-License-Identifier: Apache-2.0
//
// Whether the production carried a level of extra load: read from its ledgers.

#pragma once

#include <cstdint>
#include <vector>

#include "bench/pipeline/ledger.h"

namespace bench {

/// One output's ledger between two moments.
struct HeldOutput {
  std::int64_t delivered = 0;
  std::int64_t dropped = 0;
  std::int64_t late = 0;
  double backlog_begun = 0;  // frames in flight, mean of the first third of the looks
  double backlog_ended = 0;  // of the last third
};

/// Sums of one hold, gathered look by look.
class HoldAccount {
 public:
  /// `totals` has one entry per output, then one per feed, as in every later look.
  void Look(const std::vector<Ledger::Totals>& totals);
  std::int64_t dropped() const;
  std::int64_t late() const;
  std::vector<HeldOutput> Outputs() const;

 private:
  std::vector<std::vector<Ledger::Totals>> looks_;
};

/// Share of delivered frames that were late, per output.
std::vector<double> LateShares(const std::vector<HeldOutput>& outputs);

/// Carried: no frame dropped, and no output fell behind. One falls behind when
/// more of its frames were late than `plain_late_shares` (of the production by
/// itself) explain and its backlog grew by a frame or more: its queues would
/// only have filled later than the hold ended.
bool Carried(const std::vector<HeldOutput>& outputs, const std::vector<double>& plain_late_shares);

}  // namespace bench
