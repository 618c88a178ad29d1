// SPDX-License-Identifier: Apache-2.0
//
// Permutation and bootstrap over blocks of windows.

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <numeric>
#include <random>
#include <utility>

#include "base/stats/percentile.h"
#include "base/stats/two_samples.h"

namespace base {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
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
