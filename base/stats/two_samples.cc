// SPDX-License-Identifier: Apache-2.0

#include "base/stats/two_samples.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <numeric>
#include <random>
#include <utility>

#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/students_t.hpp>

#include "base/stats/percentile.h"

namespace base {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kBothTails = 0.05;  // beyond a 95 % interval

namespace policies = boost::math::policies;
using Quiet = policies::policy<policies::domain_error<policies::ignore_error>,
                               policies::overflow_error<policies::ignore_error>,
                               policies::evaluation_error<policies::ignore_error>>;
using StudentsT = boost::math::students_t_distribution<double, Quiet>;
using Binomial = boost::math::binomial_distribution<double, Quiet>;

double SumOfSquares(std::span<const double> samples, double mean) {
  return std::accumulate(samples.begin(), samples.end(), 0.0, [mean](double sum, double value) {
    return sum + (value - mean) * (value - mean);
  });
}

/// A share of trials as a ratio of rates over these times.
double AsRatio(double share, double before_s, double after_s) {
  return share < 1 ? share / (1 - share) * before_s / after_s : kInfinity;
}

/// Sum of the chances of all outcomes of `trials` that are no likelier than `seen`.
double TwoSided(std::int64_t seen, std::int64_t trials, double share) {
  if (static_cast<double>(seen) > static_cast<double>(trials) * share) {
    return TwoSided(trials - seen, trials, 1 - share);
  }
  constexpr double kSame = 1 + 1e-7;  // as likely as the one seen, rounding aside
  const Binomial law(static_cast<double>(trials), share);
  const double limit = boost::math::pdf(law, static_cast<double>(seen)) * kSame;
  // Above the mode chances only fall: the first outcome there that is no likelier.
  auto low = static_cast<std::int64_t>(std::floor(boost::math::mean(law))) + 1;
  std::int64_t high = trials + 1;
  while (low < high) {
    const std::int64_t middle = low + (high - low) / 2;
    const bool rare = boost::math::pdf(law, static_cast<double>(middle)) <= limit;
    low = rare ? low : middle + 1;
    high = rare ? middle : high;
  }
  const double lower = boost::math::cdf(law, static_cast<double>(seen));
  const double upper =
      low > trials ? 0
                   : boost::math::cdf(boost::math::complement(law, static_cast<double>(low - 1)));
  return std::min(1.0, lower + upper);
}

}  // namespace

double LagOneCorrelation(std::span<const double> samples) {
  if (samples.size() < 3) {
    return 0;
  }
  const double mean = Mean(samples);
  const double squares = SumOfSquares(samples, mean);
  if (!(squares > 0)) {
    return 0;
  }
  double products = 0;
  for (std::size_t i = 1; i < samples.size(); ++i) {
    products += (samples[i] - mean) * (samples[i - 1] - mean);
  }
  return products / squares;
}

SampleSummary SummariseWindows(std::span<const double> samples) {
  SampleSummary summary;
  const auto count = static_cast<double>(samples.size());
  summary.mean = Mean(samples);
  summary.count = count;
  if (samples.size() < 2) {
    return summary;
  }
  summary.deviation = std::sqrt(SumOfSquares(samples, summary.mean) / (count - 1));
  if (summary.deviation > 0) {
    constexpr double kMost = 0.99;
    const double seen = LagOneCorrelation(samples);
    const double r = std::clamp(seen + (1 + 4 * seen) / count, 0.0, kMost);
    summary.count = std::clamp(count * (1 - r) / (1 + r), 2.0, count);
  }
  return summary;
}

std::optional<Difference> WelchTest(const SampleSummary& before, const SampleSummary& after) {
  if (!(before.count >= 2) || !(after.count >= 2)) {
    return std::nullopt;
  }
  Difference difference;
  difference.value = after.mean - before.mean;
  const double of_before = before.deviation * before.deviation / before.count;
  const double of_after = after.deviation * after.deviation / after.count;
  const double variance = of_before + of_after;
  if (!std::isfinite(variance) || !std::isfinite(difference.value)) {
    return std::nullopt;
  }
  if (!(variance > 0)) {
    difference.low = difference.high = difference.value;
    difference.p_value = difference.value == 0 ? 1 : 0;
    return difference;
  }
  const double error = std::sqrt(variance);
  difference.t = difference.value / error;
  // Welch and Satterthwaite.
  difference.degrees_freedom =
      variance * variance /
      (of_before * of_before / (before.count - 1) + of_after * of_after / (after.count - 1));
  const StudentsT law(difference.degrees_freedom);
  difference.p_value = 2 * boost::math::cdf(boost::math::complement(law, std::abs(difference.t)));
  const double reach = error * boost::math::quantile(boost::math::complement(law, kBothTails / 2));
  difference.low = difference.value - reach;
  difference.high = difference.value + reach;
  return difference;
}

std::optional<Difference> CompareRates(const EventCount& before, const EventCount& after) {
  constexpr std::int64_t kMost = std::int64_t{1} << 50U;
  const bool counts = before.events >= 0 && after.events >= 0 && before.events < kMost &&
                      after.events < kMost && before.events + after.events > 0;
  const bool times =
      before.seconds > 0 && after.seconds > 0 && std::isfinite(before.seconds + after.seconds);
  if (!counts || !times) {
    return std::nullopt;
  }
  const std::int64_t trials = before.events + after.events;
  const double share = after.seconds / (before.seconds + after.seconds);
  const auto all = static_cast<double>(trials);
  const auto seen = static_cast<double>(after.events);
  Difference ratio;
  ratio.p_value = TwoSided(after.events, trials, share);
  ratio.value = AsRatio(seen / all, before.seconds, after.seconds);
  const double low = Binomial::find_lower_bound_on_p(all, seen, kBothTails / 2);
  const double high = Binomial::find_upper_bound_on_p(all, seen, kBothTails / 2);
  ratio.low = after.events == 0 ? 0 : AsRatio(low, before.seconds, after.seconds);
  ratio.high = before.events == 0 ? kInfinity : AsRatio(high, before.seconds, after.seconds);
  return ratio;
}

std::vector<double> AdjustedByHolm(std::span<const double> p_values) {
  std::vector<std::size_t> order(p_values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&p_values](std::size_t a, std::size_t b) { return p_values[a] < p_values[b]; });
  std::vector<double> adjusted(p_values.size(), 1);
  double largest = 0;
  for (std::size_t rank = 0; rank < order.size(); ++rank) {
    const auto left = static_cast<double>(order.size() - rank);
    largest = std::max(largest, std::min(1.0, left * p_values[order[rank]]));
    adjusted[order[rank]] = largest;
  }
  return adjusted;
}

// Permutation and bootstrap over blocks of windows.

namespace {

constexpr double kBothTailsPercent = 5;  // beyond a 95 % interval
constexpr int kPermutations = 4999;
constexpr int kResamples = 2000;
constexpr std::size_t kMostBlocks = 120;  // of one series: more would only take longer

std::size_t BlockWindows(std::span<const double> series) {
  const auto windows = static_cast<double>(series.size());
  const double blocks = std::min<double>(SummariseWindows(series).count, kMostBlocks);
  return static_cast<std::size_t>(std::max(1L, std::lround(windows / std::max(1.0, blocks))));
}

/// Means of blocks; what is left over goes to the last one.
std::vector<double> Blocks(std::span<const double> series, std::size_t windows) {
  std::vector<double> blocks;
  const std::size_t count = series.size() / windows;
  for (std::size_t block = 0; block < count; ++block) {
    const std::size_t from = block * windows;
    blocks.push_back(
        Mean(series.subspan(from, block + 1 == count ? series.size() - from : windows)));
  }
  return blocks;
}

class Shuffler {
 public:
  std::size_t Below(std::size_t count) { return random_() % count; }

  /// The first `count` values become a random choice of all of them.
  void Choose(std::size_t count, std::vector<double>& values) {
    for (std::size_t i = 0; i < count; ++i) {
      std::swap(values[i], values[i + Below(values.size() - i)]);
    }
  }

  double MeanOfResample(const std::vector<double>& values) {
    double sum = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
      sum += values[Below(values.size())];
    }
    return sum / static_cast<double>(values.size());
  }

 private:
  std::mt19937_64 random_{20310601};
};

double Chance(const std::vector<double>& before, const std::vector<double>& after) {
  std::vector<double> all = before;
  all.insert(all.end(), after.begin(), after.end());
  const double sum = std::accumulate(all.begin(), all.end(), 0.0);
  const auto apart = [&](double sum_before) {
    return std::abs((sum - sum_before) / static_cast<double>(after.size()) -
                    sum_before / static_cast<double>(before.size()));
  };
  const auto first_sum = [&](const std::vector<double>& values) {
    const auto end = values.begin() + static_cast<std::ptrdiff_t>(before.size());
    return std::accumulate(values.begin(), end, 0.0);
  };
  const double seen = apart(first_sum(all)) - 1e-9 * sum;  // rounding aside
  Shuffler shuffler;
  int as_far = 1;
  for (int i = 0; i < kPermutations; ++i) {
    shuffler.Choose(before.size(), all);
    as_far += apart(first_sum(all)) >= seen ? 1 : 0;
  }
  return static_cast<double>(as_far) / (kPermutations + 1);
}

double Ratio(double before, double after) {
  return before > 0 ? after / before : after > 0 ? kInfinity : 1;
}

}  // namespace

std::optional<Difference> CompareBursts(std::span<const double> before,
                                        std::span<const double> after) {
  if (before.size() < 2 || after.size() < 2) {
    return std::nullopt;
  }
  const std::size_t windows = std::max(BlockWindows(before), BlockWindows(after));
  const std::vector<double> was = Blocks(before, windows);
  const std::vector<double> is = Blocks(after, windows);
  const double all = Mean(before) + Mean(after);
  if (was.size() < 2 || is.size() < 2 || !(all > 0) || !std::isfinite(all)) {
    return std::nullopt;
  }
  Difference ratio;
  ratio.value = Ratio(Mean(before), Mean(after));
  ratio.p_value = Chance(was, is);
  std::vector<double> ratios;
  Shuffler shuffler;
  for (int i = 0; i < kResamples; ++i) {
    const double one = shuffler.MeanOfResample(was);
    ratios.push_back(Ratio(one, shuffler.MeanOfResample(is)));
  }
  ratio.low = Percentile(ratios, kBothTailsPercent / 2);
  ratio.high = Percentile(ratios, 100 - kBothTailsPercent / 2);
  return ratio;
}

}  // namespace base
