// SPDX-License-Identifier: Apache-2.0
//
// Counts the sound of a track by its timestamps: holes, and how its clock runs.

#pragma once

#include <cstdint>
#include <optional>

#include "base/rational.h"
#include "probes/clock_line.h"
#include "probes/data/recording.h"
#include "probes/picture_times.h"

namespace probes {

class SoundTimes {
 public:
  /// `samples_per_second` 0: not known, then no clock is told.
  SoundTimes(base::Rational tick_s, int samples_per_second);

  /// `duration` in ticks; 0: not told by the container.
  void Add(const PacketTime& packet, std::int64_t duration, std::int64_t samples);
  TrackTimes Finish(double zero_s);
  const ClockLine& clock() const { return clock_; }

 private:
  const base::Rational tick_s_;
  const int samples_per_second_;
  std::optional<double> last_s_;
  double block_s_ = 0;  // of the last packet
  double ahead_s_ = 0;
  TrackTimes times_;
  ClockLine clock_;
};

}  // namespace probes
