// SPDX-License-Identifier: Apache-2.0
//
// The sums of all tracks of one recording, over all of its files.

#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/rational.h"
#include "probes/data/recording.h"
#include "probes/recording/times/picture_times.h"
#include "probes/recording/times/sound_times.h"

namespace probes {

/// What a file tells of a track before its packets.
struct TrackFacts {
  TrackKind kind = TrackKind::kOther;
  std::string codec;
  std::string what;
  base::Rational tick_s{1, 1000};             // above 0
  std::optional<base::Rational> stated_rate;  // of pictures, by the container
  std::optional<base::Rational> codec_rate;   // of pictures, by their own stream
  int samples_per_second = 0;
  double lead_in_s = 0;
  TimesFrom times_from = TimesFrom::kStamps;
  bool reorders = true;  // pictures of its codec may be stored in another order than shown
  int programme = 0;     // of a transport stream that carries several; 0: of the only one
};

class RecordingSums {
 public:
  /// A file with these tracks follows. `start_s`: its first time by its own clock, if known. Its
  /// times go on where the files before end, or are shifted there when they begin anew: always
  /// with `restarts`, else when they would lie before that end. False when its tracks are not those
  /// of the first file; then it is left out.
  bool BeginFile(const std::vector<TrackFacts>& tracks, std::optional<double> start_s,
                 bool restarts = false);
  /// Whether any file's times began anew.
  bool shifted() const { return shift_s_ != 0; }
  /// What is added to the times of the file at hand.
  double shift_s() const { return shift_s_; }

  /// The sums of a track of the file at hand; null for one of the other kind, or of none.
  PictureTimes* Pictures(std::size_t track);
  SoundTimes* Sound(std::size_t track);

  /// First time on the recording's own clock.
  std::optional<double> first_s() const;
  /// Tracks, drifts and length of `recording`. Once, at the end.
  void Finish(Recording& recording);

 private:
  struct Sums {
    TrackFacts facts;
    std::unique_ptr<PictureTimes> pictures;
    std::unique_ptr<SoundTimes> sound;
  };
  std::optional<double> end_s() const;
  const TrackTimes* PicturesFor(const TrackTimes& sound,
                                const std::vector<TrackTimes>& tracks) const;

  std::vector<Sums> tracks_;
  double shift_s_ = 0;
  double file_begun_s_ = 0;
};

/// Sound against pictures by both ways; a reason where one cannot tell.
AvDrift DriftOf(const TrackTimes& pictures, const TrackTimes& sound);

}  // namespace probes
