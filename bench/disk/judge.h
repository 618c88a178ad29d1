// SPDX-License-Identifier: Apache-2.0
//
// What a disk sustains, from its rate in each window of a run.

#pragma once

#include <optional>
#include <span>
#include <string>

namespace bench {

/// The rate that a recording can count on.
struct SustainedRate {
  double bytes_per_second = 0;
  std::string from;  // "mean of the steady window of ...", "10th percentile of ... rounds"
  bool steady = false;
  double excursion_percent = 0;
  double slope_percent = 0;
  std::optional<double> step_at_s;
  std::optional<double> step_ratio;  // rate after over rate before
};

/// Only what follows the last step in speed of a tenth or more counts: a cache
/// that has run out stays so. There, the mean of the last five rounds that are
/// steady by the SNIA rule, a round being one window or, when none is, two, four
/// ... up to a second; with none at all, the 10th percentile of the longest
/// rounds. The step told is the largest one down, or else the largest one up.
SustainedRate JudgeDiskWindows(std::span<const double> bytes_per_second, double window_seconds);

}  // namespace bench
