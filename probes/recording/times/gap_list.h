// SPDX-License-Identifier: Apache-2.0
//
// The holes of a track, in memory that does not grow with its length.

#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "probes/data/recording.h"

namespace probes {

class GapList {
 public:
  /// Times on the recording's own clock.
  void Add(const TimeGap& gap);
  /// One picture of the last gap was late, not missing. False when there is none left in it.
  bool TakeBack();
  /// The last gap was none.
  void Drop();
  /// Sets the gaps of `times` from all added, relative to `zero_s`; its ends must be set.
  void Finish(double zero_s, TrackTimes& times);

 private:
  void Sum(double at_s, std::int64_t missing);
  void Halve();

  std::vector<TimeGap> gaps_;
  TimeGap last_;
  std::int64_t count_ = 0;
  std::int64_t missing_ = 0;
  double seconds_ = 0;
  double stretch_s_ = 1;
  double first_s_ = 0;                   // where the stretches begin
  std::vector<std::int64_t> stretches_;  // missing in each
};

}  // namespace probes
