// SPDX-License-Identifier: Apache-2.0
//
// The place in a log that a recording fits best, and how sure that is.

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "report/place_recording.h"

namespace report {

/// Seconds of a log.
struct WatchedTime {
  double from_s = 0;
  double to_s = 0;
};

/// What of a recording can be found again in a log.
struct RecordingTrace {
  double length_s = 0;
  std::vector<std::size_t> holes;  // steps of LogOutline with missing pictures, in order
};
RecordingTrace TraceOf(const RecordingDocument& document);

struct SearchAnswer {
  double at_s = 0;
  double percent = 0;  // probability of this place, give or take 1.5 s, if it is one of those tried
  std::string by;      // what was compared
};

/// Tries each place with the recording's zero from `from_s` to `to_s`. Recordings grow while one is
/// made and not just before and after it; where pictures are missing the PC shows trouble more
/// often than elsewhere. Nothing: the log has no growth, or the recording no holes, to go by.
std::optional<SearchAnswer> SearchLog(const RecordingTrace& trace, const LogOutline& outline,
                                      double from_s, double to_s);

}  // namespace report
