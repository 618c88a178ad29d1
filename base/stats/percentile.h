// SPDX-License-Identifier: Apache-2.0
//
// Order statistics and straight lines over plain samples.

#pragma once

#include <span>

namespace base {

/// Nearest-rank percentile, `percent` in 0..100, of unsorted samples; 0 when
/// there are none.
double Percentile(std::span<const double> samples, double percent);

double Mean(std::span<const double> samples);
/// Least-squares slope of samples against their index; 0 below two samples.
double Slope(std::span<const double> samples);

}  // namespace base
