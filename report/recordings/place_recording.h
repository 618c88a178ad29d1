// SPDX-License-Identifier: Apache-2.0
//
// Where a recording lies in a watch's log: by what the user says, by clocks, or by search.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "probes/data/recording.h"
#include "probes/data/watch_log.h"
#include "report/data/recording.h"

namespace report {

enum class PlacedBy { kNothing, kUser, kClock, kClockAndSearch, kSearch };

struct LogPlace {
  PlacedBy by = PlacedBy::kNothing;
  double at_s = 0;                // of the recording's zero, in seconds of the log
  double within_s = 0;            // how far off it may be
  double confidence_percent = 0;  // of a search: probability of this place against all others
  std::string told;               // how it was placed, or why it was not
  std::vector<std::string> doubts;
};

/// One of the recording's own ideas of when it began, in the log's seconds.
struct ClockPlace {
  probes::WallClockStart start;
  std::vector<double> log_s;  // none: the log does not hold that moment
};

/// A whole log in steps, small enough to keep for days.
struct LogOutline {
  static constexpr double kStepSeconds = 0.25;
  double begins_s = 0;
  std::vector<float> growth;   // bytes that recordings grew by in the step; below 0: not told
  std::vector<float> trouble;  // 0 to 1
};

class OutlineTaker {
 public:
  void Take(const probes::WatchSample& sample);
  LogOutline Give() { return std::move(outline_); }

 private:
  bool begun_ = false;
  LogOutline outline_;
};

/// Places one recording. `told_s`: seconds from the log's beginning, as the user says.
LogPlace PlaceRecording(const RecordingDocument& document, const std::vector<ClockPlace>& clocks,
                        const LogOutline& outline, std::optional<double> told_s);

}  // namespace report
