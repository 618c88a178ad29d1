// SPDX-License-Identifier: Apache-2.0
//
// What of a run is judged: the start is cut off by rule, and capacity is a low percentile.

#pragma once

#include <cstdint>
#include <span>

#include "bench/data/results.h"

namespace bench {

/// The judged part begins at the first whole second, at least 2 and at most 5,
/// by which every output had delivered (`all_delivering_ns`; negative: one
/// never did). Encoders lose a few frames while they start; common practice is
/// to leave out the first 2 to 5 seconds.
double WarmUpSeconds(std::int64_t all_delivering_ns);

/// Frames dropped in the windows before `seconds`.
std::int64_t DroppedBefore(std::span<const LedgerWindow> windows, double seconds);

/// Speed that held in nine of ten one-second windows, the first two cut off
/// where there are more than six. 0 without windows.
double SustainedSpeed(std::span<const double> window_speeds);

}  // namespace bench
