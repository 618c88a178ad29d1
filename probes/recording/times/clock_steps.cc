// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/times/clock_steps.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace probes {
namespace {

/// Tracks that were set together step within this of each other, and by nearly as much.
constexpr double kTogetherSeconds = 5;
constexpr double kCoversShare = 0.9;  // of the step
constexpr double kMostMissing = 1e15;

bool StepsToo(const TrackTimes& track, const TimeStep& step) {
  return std::any_of(track.steps.begin(), track.steps.end(), [&](const TimeStep& other) {
    return std::fabs(other.at_s - step.at_s) <= kTogetherSeconds &&
           std::fabs(other.by_s - step.by_s) <= kTogetherSeconds;
  });
}

bool Covers(const TrackTimes& track, const TimeStep& step) {
  return track.kind != TrackKind::kOther && track.present > track.untimed &&
         track.first_s <= step.at_s && track.end_s >= step.at_s + kCoversShare * step.by_s &&
         !StepsToo(track, step);
}

double PeriodOf(const TrackTimes& track) {
  const bool beats = track.kind == TrackKind::kVideo && track.beat == Beat::kConstant;
  return beats && track.rate_numerator > 0 ? static_cast<double>(track.rate_denominator) /
                                                 static_cast<double>(track.rate_numerator)
                                           : 0;
}

void MakeHole(TrackTimes& track, std::size_t number) {
  const TimeStep step = track.steps[number];
  track.steps.erase(track.steps.begin() + static_cast<std::ptrdiff_t>(number));
  --track.step_count;
  for (std::size_t later = number; later < track.steps.size(); ++later) {
    track.steps[later].at_s += step.by_s;
  }
  const auto next =
      std::upper_bound(track.gaps.begin(), track.gaps.end(), step.at_s,
                       [](double at_s, const TimeGap& gap) { return at_s < gap.at_s; });
  const std::size_t place = static_cast<std::size_t>(next - track.gaps.begin());
  for (std::size_t later = place; later < track.gaps.size(); ++later) {
    track.gaps[later].at_s += step.by_s;
  }
  track.end_s += step.by_s;
  const double period_s = PeriodOf(track);
  const double missing = period_s > 0 ? std::round(step.by_s / period_s) : 0;
  const TimeGap hole{step.at_s + period_s, step.by_s,
                     static_cast<std::int64_t>(std::min(missing, kMostMissing))};
  track.missing += hole.missing;
  track.due += hole.missing;
  ++track.gap_count;
  track.gap_seconds += hole.length_s;
  track.gaps.insert(track.gaps.begin() + static_cast<std::ptrdiff_t>(place), hole);
  if (track.gaps.size() > kMostGaps) {
    track.gaps.pop_back();
  }
}

/// The parts are of a longer track now.
void SumPartsAgain(TrackTimes& track) {
  track.missing_in_part = {};
  for (const TimeGap& gap : track.gaps) {
    track.missing_in_part.at(PartOf(track, gap.at_s)) += gap.missing;
  }
}

}  // namespace

void TurnStepsIntoHoles(std::vector<TrackTimes>& tracks) {
  for (TrackTimes& track : tracks) {
    bool any = false;
    for (std::size_t i = 0; i < track.steps.size();) {
      const TimeStep step = track.steps[i];
      const bool hole =
          step.by_s > 0 && std::any_of(tracks.begin(), tracks.end(), [&](const TrackTimes& other) {
            return &other != &track && Covers(other, step);
          });
      if (hole) {
        MakeHole(track, i);
        any = true;
      } else {
        ++i;
      }
    }
    if (any) {
      SumPartsAgain(track);
    }
  }
}

}  // namespace probes
