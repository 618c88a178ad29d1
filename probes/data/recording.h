// SPDX-License-Identifier: Apache-2.0
//
// What the timestamps of a recording say: which pictures are missing, where, and how evenly the rest came.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/rational.h"
#include "base/reading.h"

namespace probes {

enum class TrackKind { kVideo, kAudio, kOther };

/// A hole between two pictures, or two blocks of sound, that follow each other.
struct TimeGap {
  double at_s = 0;           // of what comes before it, from the recording's first time
  double length_s = 0;       // beyond one period
  std::int64_t missing = 0;  // pictures; 0 for sound
};

/// A time that jumps back: the clock that stamped it was set, or files were joined.
struct TimeStep {
  double at_s = 0;
  double by_s = 0;
};

/// Distances from the even beat, of pictures that follow each other without a hole.
struct Jitter {
  std::int64_t count = 0;
  double median_ms = 0;
  double p99_ms = 0;
  double most_ms = 0;
};

/// How the rate of a track is known.
enum class RateFrom { kUnknown, kTimestamps, kContainer };

struct TrackTimes {
  int index = 0;
  TrackKind kind = TrackKind::kOther;
  std::string codec;
  std::string what;  // "1920x1080", "48000 Hz, 2 channels"
  base::Rational rate{0};  // pictures or samples a second; 0: not known
  RateFrom rate_from = RateFrom::kUnknown;
  double first_s = 0;  // on the recording's own clock
  double last_s = 0;   // of the last picture, or the end of the sound
  std::int64_t due = 0;  // pictures that the rate asks for between first and last
  std::int64_t present = 0;
  std::int64_t missing = 0;
  std::int64_t surplus = 0;       // a second picture in the time of one
  std::int64_t out_of_order = 0;  // came after pictures that follow them
  std::int64_t untimed = 0;       // packets without any time
  std::int64_t gap_count = 0;
  std::vector<TimeGap> gaps;  // the first kMostGaps of them
  std::vector<TimeStep> steps;
  Jitter jitter;
  std::int64_t bytes = 0;
};

inline constexpr std::size_t kMostGaps = 20'000;

}  // namespace probes
