// SPDX-License-Identifier: Apache-2.0
//
// The shape of losses over a recording, named from where they lie, with the figure that decided.

#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "probes/data/recording.h"
#include "report/data/recording.h"

namespace report {

/// What a shape is named from.
struct LossPlaces {
  std::vector<probes::TimeGap> gaps;  // in order; the first of them when there are more
  std::int64_t gap_count = 0;
  std::int64_t pictures = 0;  // lost, or repeated, in all
  std::int64_t due = 0;
  std::array<std::int64_t, probes::kRecordingParts> in_part{};
  double first_s = 0;  // of the track
  double end_s = 0;
  double rate = 0;       // frames a second of the track
  bool repeats = false;  // pictures too many instead of too few
};

/// Losses of a track by its timestamps.
LossPlaces MissingPlaces(const probes::TrackTimes& track);
/// Pictures that repeat by their content, in stretches too short to be called frozen.
LossPlaces RepeatedPlaces(const probes::TrackTimes& track);

GapPattern NameGapPattern(const LossPlaces& places);

/// Mean pictures lost in groups of gaps less than a second apart, and how many groups.
struct LossGroups {
  std::vector<double> begins_s;
  std::vector<double> ends_s;
  std::vector<std::int64_t> pictures;
};
LossGroups GroupLosses(const std::vector<probes::TimeGap>& gaps);

}  // namespace report
