// SPDX-License-Identifier: Apache-2.0

#include "probes/watch_log/clock.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <iterator>
#include <vector>

#include "probes/watch_log/log.h"

namespace probes {
namespace {

constexpr double kMicroseconds = 1e6;
constexpr std::int64_t kStepUs = 5'000;     // slewing moves 0.5 ms in a second
constexpr double kLongestSpanSeconds = 60;  // slewing may change its speed
constexpr std::size_t kMostSteps = 20'000;
constexpr std::size_t kMostSpans = 200'000;
constexpr double kLongestNs = 4e18;

/// Wall time grows by this in one second of the log.
double Slope(const WatchClockSpan& span) {
  const double seconds = span.to_s - span.from_s;
  return seconds > 0 ? static_cast<double>(span.to_wall_ns - span.from_wall_ns) / seconds : 1e9;
}

}  // namespace

void WatchClockFollower::Take(const WatchSample& sample, WatchLog& log) {
  const double at_s = sample.pc.at_s;
  const auto ahead_us =
      sample.wall_ns / 1000 - static_cast<std::int64_t>(std::llround(at_s * kMicroseconds));
  const std::int64_t moved_us = begun_ ? ahead_us - ahead_us_ : 0;
  ahead_us_ = ahead_us;
  begun_ = true;
  std::vector<WatchClockSpan>& spans = log.clock_spans;
  const auto before_ns = [](double seconds) {
    return static_cast<std::int64_t>(std::llround(seconds * 1e9));
  };
  if (spans.empty()) {
    spans.push_back(
        {at_s - sample.seconds, at_s, sample.wall_ns - before_ns(sample.seconds), sample.wall_ns});
  } else if (std::abs(moved_us) > kStepUs) {
    if (log.clock_steps.size() < kMostSteps) {
      log.clock_steps.push_back(
          {at_s, static_cast<double>(moved_us) / 1000, sample.slept_ms.value_or(0)});
    }
    if (spans.size() < kMostSpans) {
      // When in the sample it happened is not known: at its end.
      spans.back().to_wall_ns += before_ns(at_s - spans.back().to_s);
      spans.back().to_s = at_s;
      spans.push_back({at_s, at_s, sample.wall_ns, sample.wall_ns});
    }
  } else if (at_s - spans.back().from_s > kLongestSpanSeconds && spans.size() < kMostSpans) {
    const WatchClockSpan before = spans.back();
    spans.push_back({before.to_s, at_s, before.to_wall_ns, sample.wall_ns});
  } else {
    spans.back().to_s = at_s;
    spans.back().to_wall_ns = sample.wall_ns;
  }
}

std::int64_t WallOfLogTime(const WatchLog& log, double at_s) {
  if (log.clock_spans.empty() || !std::isfinite(at_s)) {
    return log.head.zero_wall_ns;
  }
  // The last stretch that begins at or before that moment; before all of them the first.
  const auto after = std::upper_bound(
      log.clock_spans.begin(), log.clock_spans.end(), at_s,
      [](double moment, const WatchClockSpan& span) { return moment < span.from_s; });
  const WatchClockSpan& span = after == log.clock_spans.begin() ? *after : *std::prev(after);
  const double ns = std::clamp((at_s - span.from_s) * Slope(span), -kLongestNs, kLongestNs);
  return span.from_wall_ns + std::llround(ns);
}

std::vector<double> LogTimesOfWall(const WatchLog& log, std::int64_t wall_ns) {
  std::vector<double> moments;
  for (const WatchClockSpan& span : log.clock_spans) {
    if (wall_ns < span.from_wall_ns || wall_ns > span.to_wall_ns) {
      continue;
    }
    const double slope = Slope(span);
    const double at_s = slope > 0
                            ? span.from_s + static_cast<double>(wall_ns - span.from_wall_ns) / slope
                            : span.from_s;
    // Stretches of one run of the clock share their ends.
    if (moments.empty() || std::abs(moments.back() - at_s) > 1e-3) {
      moments.push_back(at_s);
    }
  }
  return moments;
}

}  // namespace probes
