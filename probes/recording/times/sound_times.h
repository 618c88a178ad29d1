// SPDX-License-Identifier: Apache-2.0
//
// Counts the sound of a track by its timestamps: holes, and how its clock runs.

#pragma once

#include <cstdint>
#include <optional>

#include "base/rational.h"
#include "probes/data/recording.h"
#include "probes/recording/times/clock_line.h"
#include "probes/recording/times/gap_list.h"
#include "probes/recording/times/packet_time.h"

namespace probes {

/// Packets of sound that follow each other at equal distances.
struct SoundRun {
  PacketTime first;
  std::int64_t packets = 1;
  double step_s = 0;     // between their times; 0 with one packet
  double carried_s = 0;  // of sound in each; 0: not told
  bool counted = true;   // it is a number of samples, not a duration that somebody wrote down
};

class SoundTimes {
 public:
  /// `tick_s`: one tick in seconds, above 0. `lead_in_s`: what a player leaves out at the start
  /// because the encoder needed it to begin.
  SoundTimes(base::Rational tick_s, int samples_per_second, double lead_in_s,
             TimesFrom times_from = TimesFrom::kStamps);

  void Add(const SoundRun& run);
  /// What follows is another file; `shift_s` is added to its times.
  void Join(double shift_s);

  /// By the clock of the file at hand.
  std::optional<double> first_s() const;
  std::optional<double> end_s() const;
  /// All counts, times relative to `zero_s`. Once, at the end.
  TrackTimes Finish(double zero_s);

 private:
  void AddEven(double at_s, const SoundRun& run);
  void FollowUntimed(const SoundRun& run);
  void Take(double at_s, double carried_s);
  void Follow(double step_s, double apart_s);

  double Tolerance(double carried_s) const;
  void Jump(double at_s);
  double Seconds(std::int64_t ticks) const;

  const double tick_s_;
  const double lead_in_s_;
  double shift_s_ = 0;
  double anchor_s_ = 0;  // what leads from the clock to the place in the recording
  JumpWatch jumps_;
  double held_s_ = 0;
  double held_carried_s_ = 0;
  std::optional<double> first_s_;
  std::optional<double> end_s_;  // of the last packet
  bool in_stretch_ = false;
  bool joined_ = false;  // what comes next is the first of another file: it tells nothing of drift
  std::int64_t blocks_ = 0;  // with a time
  double last_at_s_ = 0;
  double block_s_ = 0;               // of the last packet
  std::int64_t since_hole_ = 1'000;  // packets since the last hole
  double open_hole_s_ = 0;           // that the next packets may prove to be a late one only
  bool counted_ = true;
  double most_apart_s_ = 0;  // off the end of the packet before, of those that are no hole
  double elapsed_s_ = 0;
  double ahead_s_ = 0;
  TrackTimes times_;
  GapList gaps_;
  ClockLine clock_;
};

}  // namespace probes
