// SPDX-License-Identifier: Apache-2.0
//
// The place in a log that a recording fits best, and how sure that is.

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "report/recordings/place_recording.h"

namespace report {

/// Seconds of a log.
struct WatchedTime {
  double from_s = 0;
  double to_s = 0;
};

/// Steps of LogOutline in which pictures are missing, holes close to each other taken as one: what
/// troubles the PC at one of them troubles it at the others.
struct TroubledSteps {
  std::size_t first = 0;
  std::size_t last = 0;  // that one too
};

/// What of a recording can be found again in a log.
struct RecordingTrace {
  double length_s = 0;
  std::vector<TroubledSteps> holes;  // in order
};
RecordingTrace TraceOf(const RecordingDocument& document);

struct SearchAnswer {
  double at_s = 0;
  double percent = 0;  // probability of this place, give or take 1.5 s, if it is one of those
                       // tried; 99 at most: what was not tried has some, too
  double other_s = 0;  // the best place apart from it
  double other_percent = 0;
  std::string by;  // what was compared
};

/// Tries each place with the recording's zero from `from_s` to `to_s`. Recordings grow while one is
/// made and not just before and after it; where pictures are missing the PC shows trouble more
/// often than elsewhere. Nothing: the log has no growth, or the recording no holes, to go by.
std::optional<SearchAnswer> SearchLog(const RecordingTrace& trace, const LogOutline& outline,
                                      double from_s, double to_s);

}  // namespace report
