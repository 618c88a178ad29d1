// SPDX-License-Identifier: Apache-2.0
//
// The judged part of a rehearsal: what was dropped after the warm-up, and how sure that makes us.

#pragma once

#include <cstdint>
#include <optional>

#include "bench/data/results.h"
#include "profiles/profile.h"

namespace report {

/// Upper 95 % bound of a Poisson rate per hour after `drops` in `hours`:
/// half the 0.95 quantile of chi-squared with 2 (drops + 1) degrees of
/// freedom, over the hours. 0 when nothing was judged.
double DropsPerHourUpper95(std::int64_t drops, double hours);

/// Hours without a drop that prove at most `drops_per_hour` (95 %); 0 when
/// the limit is zero, which no length proves.
double HoursToProve(double drops_per_hour);

/// Sums over one rehearsal, warm-up left out.
struct JudgedRun {
  double hours = 0;
  std::int64_t due = 0;             // frames of all outputs
  std::int64_t output_dropped = 0;  // frames of all outputs
  std::int64_t feed_dropped = 0;    // frames of all feeds, at capture
  std::int64_t late = 0;
  double upper_per_hour = 0;  // 95 % bound
  double allowed = 0;         // drops that the profile permits in this time

  std::int64_t Dropped() const { return output_dropped + feed_dropped; }
  bool Permitted() const { return static_cast<double>(Dropped()) <= allowed; }
};

/// Nothing when there was no rehearsal.
std::optional<JudgedRun> JudgeRun(const bench::Results& results, const profiles::Margins& margins);

}  // namespace report
