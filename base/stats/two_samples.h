// SPDX-License-Identifier: Apache-2.0
//
// Whether two series of windows, or two counts, differ by more than chance makes them.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace base {

/// A series as a test sees it.
struct SampleSummary {
  double mean = 0;
  double deviation = 0;  // standard deviation, n - 1 below
  double count = 0;      // independent values that it is worth
};

/// Correlation of each value with the one before it; 0 below three values or where all are alike.
double LagOneCorrelation(std::span<const double> samples);

/// Mean, deviation and the independent values that a series of windows is worth: n (1 - r) / (1 +
/// r) for a lag-one correlation r above 0 (Wilks, "Statistical Methods in the Atmospheric
/// Sciences", section 5.2.4), r made larger by (1 + 4 r) / n for its known bias (Kendall 1954).
/// Never above n, nor below two.
SampleSummary SummariseWindows(std::span<const double> samples);

/// A difference "after - before", its 95 % interval, and the chance of one as large or larger
/// where there is none.
struct Difference {
  double value = 0;
  double low = 0;
  double high = 0;
  double p_value = 1;
  double t = 0;                // Student's t; 0 where the test has none
  double degrees_freedom = 0;  // likewise
};

/// Welch's t test: means of normal values whose deviations may differ. Nothing below two values
/// on a side. Two series without any deviation differ for certain, or not at all.
std::optional<Difference> WelchTest(const SampleSummary& before, const SampleSummary& after);

/// Events over a time.
struct EventCount {
  std::int64_t events = 0;
  double seconds = 0;
};

/// Exact test of two Poisson rates: given the sum of both counts, one is binomial with its share of
/// the time (Przyborowski and Wilenski 1940). `value` and the interval (Clopper and Pearson) are
/// the ratio of rates, after / before; `high` is infinite where nothing happened before. Nothing
/// where a time is not above 0, or nothing happened on either side.
std::optional<Difference> CompareRates(const EventCount& before, const EventCount& after);

/// Counts in windows that follow each other and come in bursts: how the means of two series differ,
/// with no law of the counts assumed. `value` is after / before (infinite where nothing was
/// before); its chance is that of a permutation test of the difference of means (Pitman 1937), its
/// interval the percentiles of a bootstrap (Efron 1979), both over blocks that are as long as
/// windows are alike (n (1 - r) / (1 + r) of them), so that a burst over many windows is one event.
/// The random numbers are the same each time. Nothing below two blocks on a side, or where both are
/// all 0.
std::optional<Difference> CompareBursts(std::span<const double> before,
                                        std::span<const double> after);

/// Holm's correction (1979): chances as large as they are when all tests are looked at together.
/// In the order given.
std::vector<double> AdjustedByHolm(std::span<const double> p_values);

}  // namespace base
