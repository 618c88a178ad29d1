// SPDX-License-Identifier: Apache-2.0
//
// Where a recording lies in a watch's log.

#include "report/recordings/place_recording.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

#include <fmt/format.h>

#include "base/text.h"
#include "report/fields/recording.h"
#include "report/recordings/search_log.h"

namespace report {
namespace {

/// Clocks that are off by no more need no search beside them.
constexpr double kSureClockSeconds = 2;
/// A search that is less sure places nothing by itself.
constexpr double kSurePercent = 90;
/// A search that says something else than a clock must be this sure to be told.
constexpr double kContraryPercent = 99;

double Shortage(const WatchedTime& time, const RecordingDocument& document, double at_s) {
  const double from_s = std::max(at_s, time.from_s);
  const double to_s = std::min(at_s + document.recording.length_s, time.to_s);
  return document.recording.length_s - std::max(0.0, to_s - from_s);
}

std::string ClockName(const probes::WallClockStart& start) {
  return fmt::format("the recording's {} (within {:.0f} s)", stored::WordOf(start.source),
                     start.within_s);
}

LogPlace ByClock(const ClockPlace& clock, double at_s) {
  LogPlace place;
  place.by = PlacedBy::kClock;
  place.at_s = at_s;
  place.within_s = clock.start.within_s;
  place.told = "by the wall clock: " + ClockName(clock.start);
  return place;
}

/// The moment of the log at which most of the recording lies in it.
double BestOf(const ClockPlace& clock, const WatchedTime& time, const RecordingDocument& document) {
  return *std::min_element(clock.log_s.begin(), clock.log_s.end(), [&](double a, double b) {
    return Shortage(time, document, a) < Shortage(time, document, b);
  });
}

/// A search knows its place to so much.
constexpr double kSearchWithinSeconds = 1.5;
/// Another place that fits at least so well is told.
constexpr double kOtherPercent = 2;

std::string OtherPlace(const SearchAnswer& answer) {
  return fmt::format("{:+.1f} s from there ({:.0f} % for this place, {:.0f} % for that one)",
                     answer.other_s - answer.at_s, answer.percent, answer.other_percent);
}

/// Places are told apart by little: what rests on this one may rest on the other.
void TellOther(const SearchAnswer& answer, LogPlace& place) {
  if (answer.other_percent >= kOtherPercent) {
    place.doubts.push_back("the log cannot tell this place for certain from one " +
                           OtherPlace(answer));
  }
}

LogPlace Searched(const SearchAnswer& answer, const std::string& why) {
  LogPlace place;
  place.by = answer.percent >= kSurePercent ? PlacedBy::kSearch : PlacedBy::kNothing;
  place.at_s = answer.at_s;
  place.within_s = kSearchWithinSeconds;
  place.confidence_percent = answer.percent;
  if (place.by == PlacedBy::kSearch) {
    TellOther(answer, place);
  } else if (answer.other_percent >= kOtherPercent) {
    place.doubts.push_back("it fits as well " + OtherPlace(answer));
  }
  place.told = fmt::format("{}{}: {} ({:.0f} % sure of this place against all others)", why,
                           place.by == PlacedBy::kSearch ? "; by search" : "; a search is not sure",
                           answer.by, answer.percent);
  return place;
}

/// A clock that is not sure, and what agrees best near it.
LogPlace Near(const ClockPlace& clock, double at_s, const RecordingTrace& trace,
              const LogOutline& outline) {
  LogPlace place = ByClock(clock, at_s);
  const auto answer =
      SearchLog(trace, outline, at_s - clock.start.within_s, at_s + clock.start.within_s);
  if (answer && answer->percent >= kSurePercent) {
    place.by = PlacedBy::kClockAndSearch;
    place.at_s = answer->at_s;
    place.within_s = kSearchWithinSeconds;
    place.confidence_percent = answer->percent;
    place.told += fmt::format(", and near it by search: {} ({:.0f} % sure within that time)",
                              answer->by, answer->percent);
    TellOther(*answer, place);
  } else if (answer && answer->other_percent >= kOtherPercent) {
    place.doubts.push_back("within that time the log cannot tell one place from another " +
                           OtherPlace(*answer) + ": a cause that lasts for less may be missed");
  } else {
    place.doubts.push_back(
        "nothing in the log tells the place more closely than that clock: a cause that lasts "
        "for less may be missed");
  }
  return place;
}

void DoubtClock(const SearchAnswer& answer, LogPlace& place) {
  if (answer.percent >= kContraryPercent &&
      std::fabs(answer.at_s - place.at_s) > place.within_s + kSureClockSeconds) {
    place.doubts.push_back(fmt::format(
        "a search finds it {:+.0f} s from there ({}, {:.0f} % sure): if that clock was wrong, say "
        "the place yourself",
        answer.at_s - place.at_s, answer.by, answer.percent));
  }
}

}  // namespace

LogPlace PlaceRecording(const RecordingDocument& document, const std::vector<ClockPlace>& clocks,
                        const LogOutline& outline, std::optional<double> told_s) {
  const WatchedTime time{
      outline.begins_s,
      outline.begins_s + LogOutline::kStepSeconds * static_cast<double>(outline.trouble.size())};
  if (told_s) {
    LogPlace place;
    place.by = PlacedBy::kUser;
    place.at_s = outline.begins_s + *told_s;
    place.told = fmt::format("as you said, {:.3f} s after the log's beginning", *told_s);
    return place;
  }
  const RecordingTrace trace = TraceOf(document);
  std::string why =
      clocks.empty() ? "no clock tells when it was recorded" : "its clocks do not meet the log";
  for (const ClockPlace& clock : clocks) {
    if (clock.log_s.empty() ||
        Shortage(time, document, BestOf(clock, time, document)) >= document.recording.length_s) {
      continue;
    }
    const double at_s = BestOf(clock, time, document);
    LogPlace place = clock.start.within_s > kSureClockSeconds ? Near(clock, at_s, trace, outline)
                                                              : ByClock(clock, at_s);
    if (place.by == PlacedBy::kClock) {
      if (const auto answer = SearchLog(trace, outline, time.from_s - trace.length_s, time.to_s)) {
        DoubtClock(*answer, place);
      }
    }
    return place;
  }
  const auto answer = SearchLog(trace, outline, time.from_s - trace.length_s, time.to_s);
  if (answer) {
    return Searched(*answer, why);
  }
  LogPlace place;
  place.told = why +
               "; and nothing to search by: the log does not tell how recordings grow, and "
               "there is no hole to compare with trouble";
  return place;
}

}  // namespace report
