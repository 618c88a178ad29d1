// SPDX-License-Identifier: Apache-2.0
//
// The place in a log that a recording fits best.

#include "report/search_log.h"

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
constexpr std::int64_t kBesideSteps = 12;
/// Containers write in clusters: so many steps without growth between two that grow are one growth.
constexpr std::size_t kClusterSteps = 24;
constexpr double kSameSeconds = 1.5;

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
    if (by_trouble_) {
      std::int64_t met = 0;
      std::int64_t holes = 0;
      for (const std::size_t hole : trace_.holes) {
        const std::int64_t step = zero + static_cast<std::int64_t>(hole);
        if (step >= 0 && step < steps_) {
          ++holes;
          met += In(troubled_, step - 2, step + 2) > 0 ? 1 : 0;
        }
      }
      fit += static_cast<double>(met) * std::log(kTroubledAtHole / base_) +
             static_cast<double>(holes - met) * std::log((1 - kTroubledAtHole) / (1 - base_)) +
             static_cast<double>(static_cast<std::int64_t>(trace_.holes.size()) - holes) *
                 std::log(kUnknown);
    }
    return fit * kTogether;
  }

 private:
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

}  // namespace

RecordingTrace TraceOf(const RecordingDocument& document) {
  RecordingTrace trace;
  trace.length_s = document.recording.length_s;
  for (const probes::TrackTimes& track : document.recording.tracks) {
    for (const probes::TimeGap& gap : track.gaps) {
      const double from = std::max(0.0, gap.at_s / LogOutline::kStepSeconds);
      const double to = (gap.at_s + gap.length_s) / LogOutline::kStepSeconds;
      for (double step = std::floor(from);
           step <= to && trace.holes.size() < kMostHoleSteps && step < 1e8; ++step) {
        trace.holes.push_back(static_cast<std::size_t>(step));
      }
    }
  }
  std::sort(trace.holes.begin(), trace.holes.end());
  trace.holes.erase(std::unique(trace.holes.begin(), trace.holes.end()), trace.holes.end());
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
  const auto best = std::max_element(fits.begin(), fits.end());
  const auto best_step = best - fits.begin();
  const auto near = static_cast<std::ptrdiff_t>(kSameSeconds / LogOutline::kStepSeconds);
  double all = 0;
  double here = 0;
  double middle = 0;
  for (std::ptrdiff_t i = 0; i < static_cast<std::ptrdiff_t>(fits.size()); ++i) {
    const double weight = std::exp(fits[static_cast<std::size_t>(i)] - *best);
    all += weight;
    if (std::abs(i - best_step) <= near) {
      here += weight;
      middle += weight * static_cast<double>(i);
    }
  }
  SearchAnswer answer;
  answer.at_s =
      outline.begins_s + LogOutline::kStepSeconds * (static_cast<double>(first) + middle / here);
  answer.percent = 100 * here / all;
  answer.by = search.by();
  return answer;
}

}  // namespace report
