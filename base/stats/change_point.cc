// SPDX-License-Identifier: Apache-2.0

#include "base/stats/change_point.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>
#include <utility>

#include "base/stats/percentile.h"

namespace base {
namespace {

struct Split {
  std::size_t at = 0;
  double between = 0;  // sum of squares that the two means explain
};

// With the mean taken out, the part explained by a split after k of n samples
// is n / (k (n - k)) times the square of the running sum.
Split StrongestSplit(std::span<const double> centred, std::size_t shortest) {
  const auto count = static_cast<double>(centred.size());
  Split best;
  double sum = 0;
  for (std::size_t k = 1; k + shortest <= centred.size(); ++k) {
    sum += centred[k - 1];
    const auto left = static_cast<double>(k);
    const double between = sum * sum * count / (left * (count - left));
    if (k >= shortest && between > best.between) {
      best = {k, between};
    }
  }
  return best;
}

// std::shuffle differs between libraries; the engine's output does not.
void Shuffle(std::span<double> values, std::mt19937_64& random) {
  for (std::size_t i = values.size(); i > 1; --i) {
    std::swap(values[i - 1], values[random() % i]);
  }
}

double PermutationPValue(std::vector<double> centred, double observed, const StepRule& rule) {
  // A shuffled series equal to the observed one may differ in the last digits.
  const double as_strong = observed * (1 - 1e-9);
  std::mt19937_64 random(centred.size());
  int reached = 0;
  for (int turn = 0; turn < rule.permutations; ++turn) {
    Shuffle(centred, random);
    if (StrongestSplit(centred, rule.shortest_level).between >= as_strong) {
      ++reached;
    }
    const double at_least = (1.0 + reached) / (1.0 + rule.permutations);
    if (at_least > rule.false_alarm_rate) {
      return at_least;  // whatever follows, chance is enough
    }
  }
  return (1.0 + reached) / (1.0 + rule.permutations);
}

bool Varies(std::span<const double> samples) {
  const auto [low, high] = std::minmax_element(samples.begin(), samples.end());
  return *high - *low > 1e-12 * std::max(std::abs(*high), std::abs(*low));
}

void AddSteps(std::span<const double> samples, std::size_t offset, const StepRule& rule,
              std::vector<std::pair<std::size_t, double>>& found) {
  const auto step = FindStep(samples, rule);
  if (!step) {
    return;
  }
  found.emplace_back(offset + step->at, step->p_value);
  AddSteps(samples.first(step->at), offset, rule, found);
  AddSteps(samples.subspan(step->at), offset + step->at, rule, found);
}

}  // namespace

std::optional<Step> FindStep(std::span<const double> samples, const StepRule& rule) {
  const std::size_t shortest = std::max<std::size_t>(rule.shortest_level, 1);
  const bool finite = std::all_of(samples.begin(), samples.end(),
                                  [](double sample) { return std::isfinite(sample); });
  if (samples.size() < 2 * shortest || !finite || !Varies(samples)) {
    return std::nullopt;
  }
  const double mean = Mean(samples);
  std::vector<double> centred;
  centred.reserve(samples.size());
  for (const double sample : samples) {
    centred.push_back(sample - mean);
  }
  const Split split = StrongestSplit(centred, shortest);
  if (split.at == 0) {
    return std::nullopt;
  }
  const double p_value = PermutationPValue(std::move(centred), split.between, rule);
  if (p_value > rule.false_alarm_rate) {
    return std::nullopt;
  }
  return Step{split.at, Mean(samples.first(split.at)), Mean(samples.subspan(split.at)), p_value};
}

std::vector<Step> FindSteps(std::span<const double> samples, const StepRule& rule) {
  std::vector<std::pair<std::size_t, double>> found;
  AddSteps(samples, 0, rule, found);
  std::sort(found.begin(), found.end());
  std::vector<Step> steps;
  for (std::size_t i = 0; i < found.size(); ++i) {
    const std::size_t at = found[i].first;
    const std::size_t begin = i == 0 ? 0 : found[i - 1].first;
    const std::size_t end = i + 1 < found.size() ? found[i + 1].first : samples.size();
    steps.push_back({at, Mean(samples.subspan(begin, at - begin)),
                     Mean(samples.subspan(at, end - at)), found[i].second});
  }
  return steps;
}

}  // namespace base
