// SPDX-License-Identifier: Apache-2.0
//
// The place in a log that a recording fits best.

#include "report/recordings/search_log.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <utility>

namespace report {

void OutlineTaker::Take(const probes::WatchSample& sample) {
  constexpr std::size_t kMostSteps = 40'000'000;  // 115 days
  constexpr double kStep = LogOutline::kStepSeconds;
  if (!std::isfinite(sample.pc.at_s) || !(sample.seconds > 0)) {
    return;
  }
  const double from_s = sample.pc.at_s - sample.seconds;
  if (!begun_) {
    outline_.begins_s = from_s;
    begun_ = true;
  }
  const double steps = (sample.pc.at_s - outline_.begins_s) / kStep;
  if (!(steps > 0 && steps < static_cast<double>(kMostSteps))) {
    return;
  }
  const auto last = static_cast<std::size_t>(std::ceil(steps)) - 1;
  if (last >= outline_.trouble.size()) {
    outline_.trouble.resize(last + 1, 0);
    outline_.growth.resize(last + 1, -1);
  }
  const double waiting = std::min(1.0, sample.pc.run_wait_cpus.value_or(0) / 2);
  const double asleep = sample.pc.writers_asleep_percent.value_or(0) / 100;
  const double stopped = sample.stopped_percent.value_or(0) / 100;
  const double pressure = sample.pc.io_pressure_percent.value_or(0) / 100;
  const auto trouble = static_cast<float>(std::max({waiting, asleep, stopped, pressure}));
  outline_.trouble[last] = std::max(outline_.trouble[last], trouble);
  if (sample.recording_bytes_per_second) {
    const auto bytes = static_cast<float>(*sample.recording_bytes_per_second * sample.seconds);
    outline_.growth[last] = std::max(outline_.growth[last], 0.0F) + bytes;
  }
}

namespace {

// How often each is so, from runs with injected faults; shapes of the answer, not figures of it.
constexpr double kGrowsInside = 0.95;
constexpr double kGrowsBeside = 0.2;
constexpr double kTroubledAtHole = 0.7;
constexpr double kLeastTroubled = 0.02;
constexpr double kMostTroubled = 0.5;
constexpr double kUnknown = 0.3;  // a step that the log does not hold
constexpr float kTrouble = 0.3F;
/// Steps that follow each other tell the same: counted for less than they are.
constexpr double kTogether = 0.25;
constexpr std::size_t kMostHoleSteps = 2'000;
constexpr std::size_t kOneHoleSteps = 8;  // between two holes that are taken as one
constexpr std::int64_t kBesideSteps = 12;
/// Containers write in clusters: so many steps without growth between two that grow are one growth.
constexpr std::size_t kClusterSteps = 24;
constexpr double kSameSeconds = 1.5;
constexpr double kMostPercent = 99;

using Sums = std::vector<std::int32_t>;

/// For each step whether something holds, as running sums.
template <typename Holds>
Sums RunningSums(std::size_t count, Holds holds) {
  Sums sums(count + 1, 0);
  for (std::size_t i = 0; i < count; ++i) {
    sums[i + 1] = sums[i] + (holds(i) ? 1 : 0);
  }
  return sums;
}

std::vector<bool> Growing(const LogOutline& outline) {
  std::vector<bool> grows(outline.growth.size(), false);
  std::optional<std::size_t> last;
  for (std::size_t i = 0; i < grows.size(); ++i) {
    if (!(outline.growth[i] > 0)) {
      continue;
    }
    const std::size_t from = last && i - *last <= kClusterSteps ? *last : i;
    std::fill(grows.begin() + static_cast<std::ptrdiff_t>(from),
              grows.begin() + static_cast<std::ptrdiff_t>(i) + 1, true);
    last = i;
  }
  return grows;
}

class Search {
 public:
  Search(const RecordingTrace& trace, const LogOutline& outline)
      : trace_(trace),
        steps_(static_cast<std::int64_t>(outline.trouble.size())),
        length_(std::max<std::int64_t>(1, std::llround(trace.length_s / LogOutline::kStepSeconds))),
        troubled_(RunningSums(outline.trouble.size(),
                              [&](std::size_t i) { return outline.trouble[i] >= kTrouble; })) {
    const std::vector<bool> grows = Growing(outline);
    growing_ = RunningSums(grows.size(), [&](std::size_t i) { return grows[i]; });
    const auto all = static_cast<double>(std::max<std::int64_t>(1, steps_));
    base_ = std::clamp(troubled_.back() / all, kLeastTroubled, kMostTroubled);
    by_growth_ = growing_.back() > 0 && growing_.back() < steps_;
    by_trouble_ = !trace.holes.empty() && troubled_.back() > 0;
  }

  bool any() const { return by_growth_ || by_trouble_; }
  std::string by() const {
    return by_growth_ && by_trouble_ ? "growth of recordings, and trouble at its holes"
           : by_growth_              ? "growth of recordings"
                                     : "trouble of the PC at its holes";
  }

  /// Logarithm of how well the recording fits with its zero at this step.
  double Fit(std::int64_t zero) const {
    double fit = 0;
    if (by_growth_) {
      fit += Part(growing_, zero, zero + length_, kGrowsInside);
      fit += Part(growing_, zero - kBesideSteps, zero, kGrowsBeside);
      fit += Part(growing_, zero + length_, zero + length_ + kBesideSteps, kGrowsBeside);
    }
    return fit * kTogether + (by_trouble_ ? FitOfHoles(zero) : 0);
  }

 private:
  /// A hole is one event however long it is: its steps share the weight of one.
  double FitOfHoles(std::int64_t zero) const {
    double fit = 0;
    for (const TroubledSteps& hole : trace_.holes) {
      double of_hole = 0;
      for (std::size_t at = hole.first; at <= hole.last; ++at) {
        const std::int64_t step = zero + static_cast<std::int64_t>(at);
        if (step < 0 || step >= steps_) {
          of_hole += std::log(kUnknown);
        } else if (In(troubled_, step - 2, step + 2) > 0) {
          of_hole += std::log(kTroubledAtHole / base_);
        } else {
          of_hole += std::log((1 - kTroubledAtHole) / (1 - base_));
        }
      }
      fit += of_hole / static_cast<double>(hole.last - hole.first + 1);
    }
    return fit;
  }

  std::int64_t In(const Sums& sums, std::int64_t from, std::int64_t to) const {
    return sums[static_cast<std::size_t>(std::clamp<std::int64_t>(to, 0, steps_))] -
           sums[static_cast<std::size_t>(std::clamp<std::int64_t>(from, 0, steps_))];
  }

  double Part(const Sums& sums, std::int64_t from, std::int64_t to, double share) const {
    const std::int64_t held =
        std::clamp<std::int64_t>(to, 0, steps_) - std::clamp<std::int64_t>(from, 0, steps_);
    const std::int64_t met = In(sums, from, to);
    return static_cast<double>(met) * std::log(share) +
           static_cast<double>(held - met) * std::log(1 - share) +
           static_cast<double>(to - from - held) * std::log(kUnknown);
  }

  const RecordingTrace& trace_;
  std::int64_t steps_;
  std::int64_t length_;
  Sums troubled_;
  Sums growing_;
  double base_ = kLeastTroubled;
  bool by_growth_ = false;
  bool by_trouble_ = false;
};

constexpr auto kNear = static_cast<std::int64_t>(kSameSeconds / LogOutline::kStepSeconds);

/// How likely each place is beside the others.
class Weights {
 public:
  explicit Weights(const std::vector<double>& fits) {
    const double best = *std::max_element(fits.begin(), fits.end());
    for (const double fit : fits) {
      of_.push_back(std::exp(fit - best));
      all_ += of_.back();
    }
  }

  /// The likeliest step, or the likeliest that is another place than `step`; below 0: there is
  /// none.
  std::int64_t BestApartFrom(std::optional<std::int64_t> step) const {
    std::int64_t best = -1;
    for (std::int64_t i = 0; i < std::ssize(of_); ++i) {
      const bool apart = !step || std::abs(i - *step) > 2 * kNear;
      if (apart && (best < 0 || At(i) > At(best))) {
        best = i;
      }
    }
    return best;
  }

  double ShareNear(std::int64_t step) const { return Near(step, false) / all_; }
  double MiddleNear(std::int64_t step) const { return Near(step, true) / Near(step, false); }

 private:
  double At(std::int64_t i) const { return of_[static_cast<std::size_t>(i)]; }

  double Near(std::int64_t step, bool times_step) const {
    double sum = 0;
    const std::int64_t last = std::min<std::int64_t>(std::ssize(of_) - 1, step + kNear);
    for (std::int64_t i = std::max<std::int64_t>(0, step - kNear); i <= last; ++i) {
      sum += At(i) * (times_step ? static_cast<double>(i) : 1);
    }
    return sum;
  }

  std::vector<double> of_;
  double all_ = 0;
};

}  // namespace

RecordingTrace TraceOf(const RecordingDocument& document) {
  RecordingTrace trace;
  trace.length_s = document.recording.length_s;
  std::vector<TroubledSteps> holes;
  for (const probes::TrackTimes& track : document.recording.tracks) {
    for (const probes::TimeGap& gap : track.gaps) {
      const double from = std::max(0.0, gap.at_s / LogOutline::kStepSeconds);
      const double to = std::max(from, (gap.at_s + gap.length_s) / LogOutline::kStepSeconds);
      if (to < 1e8) {
        holes.push_back({static_cast<std::size_t>(from), static_cast<std::size_t>(to)});
      }
    }
  }
  std::sort(holes.begin(), holes.end(),
            [](const TroubledSteps& a, const TroubledSteps& b) { return a.first < b.first; });
  std::size_t steps = 0;
  for (const TroubledSteps& hole : holes) {
    if (!trace.holes.empty() && hole.first <= trace.holes.back().last + kOneHoleSteps) {
      trace.holes.back().last = std::max(trace.holes.back().last, hole.last);
    } else if (steps < kMostHoleSteps) {
      trace.holes.push_back(hole);
    }
    TroubledSteps& last = trace.holes.back();
    last.last = std::min(last.last, last.first + kMostHoleSteps);
    steps += hole.last - hole.first + 1;
  }
  return trace;
}

std::optional<SearchAnswer> SearchLog(const RecordingTrace& trace, const LogOutline& outline,
                                      double from_s, double to_s) {
  const Search search(trace, outline);
  if (!search.any() || !(to_s > from_s) || outline.trouble.empty()) {
    return std::nullopt;
  }
  const auto step_of = [&](double at_s) {
    return std::llround((at_s - outline.begins_s) / LogOutline::kStepSeconds);
  };
  const std::int64_t first = step_of(from_s);
  const std::int64_t last = std::max<std::int64_t>(first, step_of(to_s));
  std::vector<double> fits;
  for (std::int64_t zero = first; zero <= last; ++zero) {
    fits.push_back(search.Fit(zero));
  }
  const Weights weights(fits);
  const std::int64_t best = weights.BestApartFrom(std::nullopt);
  const auto second_of = [&](double step) {
    return outline.begins_s + LogOutline::kStepSeconds * (static_cast<double>(first) + step);
  };
  SearchAnswer answer;
  answer.at_s = second_of(weights.MiddleNear(best));
  answer.percent = std::min(kMostPercent, 100 * weights.ShareNear(best));
  if (const std::int64_t other = weights.BestApartFrom(best); other >= 0) {
    answer.other_s = second_of(static_cast<double>(other));
    answer.other_percent = 100 * weights.ShareNear(other);
  }
  answer.by = search.by();
  return answer;
}

}  // namespace report
