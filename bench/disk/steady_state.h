// SPDX-License-Identifier: Apache-2.0
//
// Whether a series of rates has settled, by the rule of storage testing.

#pragma once

#include <cstddef>
#include <span>

namespace bench {

/// SNIA Solid State Storage Performance Test Specification 2.0.1, definition
/// "Steady State": within the measurement window of 5 rounds, (a) max - min is
/// no more than 20 % of the average and (b) the best straight line through the
/// rounds moves by no more than 10 % of the average.
struct SteadyStateRule {
  std::size_t window_rounds = 5;
  double excursion_limit_percent = 20;
  double slope_limit_percent = 10;
};

/// A window that meets the rule; when none does, the window that comes nearest
/// to it (smallest excursion), with `attained` false.
struct SteadyState {
  bool attained = false;
  std::size_t first_round = 0;
  double average = 0;
  double excursion_percent = 0;  // (max - min) / average
  double slope_percent = 0;      // |rise of the line over the window| / average
};

/// The last window that meets the rule: what a device came down to. Fewer rounds
/// than a window, or an average of zero or below, never attain it.
SteadyState FindLastSteadyState(std::span<const double> rounds, const SteadyStateRule& rule = {});

}  // namespace bench
