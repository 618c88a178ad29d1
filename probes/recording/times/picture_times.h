// SPDX-License-Identifier: Apache-2.0
//
// Counts the pictures of a track by their timestamps, in memory that does not grow with its length.

#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

#include "base/rational.h"
#include "base/stats/histogram.h"
#include "probes/data/recording.h"
#include "probes/recording/times/clock_line.h"
#include "probes/recording/times/gap_list.h"
#include "probes/recording/times/packet_time.h"
#include "probes/recording/times/picture_beat.h"
#include "probes/recording/times/picture_order.h"

namespace probes {

/// What more is known of a track of pictures.
struct PictureFacts {
  TimesFrom times_from = TimesFrom::kStamps;
  bool reorders = true;  // its codec may store pictures in another order than they are shown
  std::optional<base::Rational> codec_rate;  // that its own stream states
};

class PictureTimes {
 public:
  /// `tick_s`: one tick in seconds, above 0. `stated_rate`: the container's, if it has one.
  PictureTimes(base::Rational tick_s, std::optional<base::Rational> stated_rate,
               const PictureFacts& facts = {});

  /// In decoding order. A packet without bytes stands for a picture that the writer left out.
  void Add(const PacketTime& packet);
  /// So many bytes belong to the picture before.
  void AddBytes(std::int64_t bytes) { times_.bytes += bytes; }
  /// What follows is another file: its first picture need not be on the beat. `shift_s`: added to
  /// its times.
  void Join(double shift_s);

  /// Those that wait to be put in order are counted: no more of this file will come.
  void Settle();
  /// No more packets will come at all.
  void Flush();
  /// First time and end so far, by the clock of the file at hand; nothing without a timed picture.
  std::optional<double> first_s() const { return first_s_; }
  std::optional<double> end_s() const;
  /// All counts, places relative to `zero_s`: where the clock was set they go on from where they
  /// were. Once, at the end.
  TrackTimes Finish(double zero_s);

 private:
  void CountSwapped(double stored_s);
  void TakeEvents();
  void Next(double shown_s);
  void BeginStretch(double shown_s);
  double Jump(double shown_s);
  void Learn();
  void Count(double shown_s);
  void CountOff(double step_s, std::int64_t periods, double off_s);
  void TakeExtra();
  void TakeHole(TimeGap gap);
  double MeanStep() const;
  void FinishVariable(TrackTimes& times) const;
  void CountSteady(std::int64_t periods);
  bool TooCoarse(const FoundBeat& beat) const;
  double Seconds(std::int64_t ticks) const;

  const double tick_s_;
  const std::optional<base::Rational> stated_rate_;
  const PictureFacts facts_;
  double shift_s_ = 0;
  PictureOrder order_;
  std::vector<PictureEvent> events_;
  double furthest_s_ = std::numeric_limits<double>::lowest();  // stored so far
  double anchor_s_ = 0;  // what leads from the clock to the place in the recording
  std::optional<double> first_s_;
  std::optional<double> last_s_;  // place, in order
  std::int64_t timed_ = 0;
  struct Early {
    double shown_s = 0;
    bool begins = false;  // nothing is judged between it and the one before
  };
  std::vector<Early> learning_;  // until the beat is known
  std::int64_t at_once_ = 0;     // of them, at the time of the one before
  std::optional<FoundBeat> beat_;
  double fastest_s_ = 0;  // step of the pictures that come fastest
  bool learnt_ = false;
  bool in_stretch_ = false;  // the picture before belongs to the same beat
  bool first_of_stretch_ = false;
  double lead_s_ = 0;  // of the last picture, off the beat
  std::int64_t on_beat_ = 0;
  std::int64_t steps_ = 0;
  std::int64_t since_odd_ = 0;  // pictures since the last hole or extra one
  std::int64_t steady_periods_ = 0;
  std::int64_t steady_steps_ = 0;
  std::int64_t steady_missing_ = 0;
  bool hole_open_ = false;
  bool extra_open_ = false;
  double elapsed_s_ = 0;  // by timestamps, jumps left out
  double ahead_s_ = 0;    // of what was carried
  TrackTimes times_;
  GapList gaps_;
  base::Histogram jitter_;
  ClockLine clock_;
};

}  // namespace probes
