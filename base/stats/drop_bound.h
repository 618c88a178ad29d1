// SPDX-License-Identifier: Apache-2.0
//
// What a count of dropped frames, often zero, says about the true rate.

#pragma once

#include <cstdint>

namespace base {

/// The highest true rate in drops an hour that `drops` in `seconds` leave
/// believable: exact one-sided 95 % upper limit of a Poisson count (Garwood
/// 1936), half the chi-squared quantile at 2 (drops + 1) degrees of freedom.
/// Infinite when nothing was run.
double DropsPerHourUpper95(std::int64_t drops, double seconds);

/// How long a run without a single drop must be to bound the rate by
/// `allowed_per_hour` at 95 %, in seconds; infinite for zero (nothing proves it).
double SecondsToProve(double allowed_per_hour);

}  // namespace base
