// SPDX-License-Identifier: Apache-2.0
//
// Counts the pictures of a track by their timestamps, in memory that does not grow with its length.

#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <queue>
#include <vector>

#include "base/histogram.h"
#include "base/rational.h"
#include "probes/data/recording.h"

namespace probes {

/// Times of one packet in ticks of its track's time base.
struct PacketTime {
  std::optional<std::int64_t> shown;    // presentation time
  std::optional<std::int64_t> decoded;  // decoding time
  std::int64_t bytes = 0;
};

/// The period of a beat, in seconds, from steps between pictures in order of
/// presentation: that of `stated` where whole multiples of it explain the
/// steps, else a standard rate within 200 ppm of the mean of even steps, else that
/// mean. Nothing below three steps.
struct Beat {
  base::Rational rate{0};
  double period_s = 0;
  RateFrom from = RateFrom::kUnknown;
};
std::optional<Beat> FindBeat(const std::vector<double>& steps_s,
                             const std::optional<base::Rational>& stated);

class PictureTimes {
 public:
  /// `tick_s`: one tick in seconds. `stated_rate`: the container's, if it has one.
  PictureTimes(base::Rational tick_s, std::optional<base::Rational> stated_rate);

  void Add(const PacketTime& packet);
  /// All counts, times relative to `zero_s` on the recording's clock.
  TrackTimes Finish(double zero_s);

 private:
  void Order(std::int64_t shown);
  void EmptyQueue();
  void Next(std::int64_t shown);
  void StepBack(std::int64_t shown);
  void Learn();
  void Count(std::int64_t shown);
  void TakeExtra();
  void TakeHole(double at_s, double length_s, std::int64_t missing);
  double Seconds(std::int64_t ticks) const;

  const base::Rational tick_s_;
  const std::optional<base::Rational> stated_rate_;
  // Presentation times on their way into order; codecs reorder by 16 at most.
  std::priority_queue<std::int64_t, std::vector<std::int64_t>, std::greater<>> queue_;
  std::optional<std::int64_t> last_decoded_;
  std::optional<std::int64_t> last_shown_;  // in order
  std::vector<std::int64_t> learning_;      // until the beat is known
  std::optional<Beat> beat_;
  bool learnt_ = false;
  std::optional<std::int64_t> last_counted_;
  std::optional<std::int64_t> first_counted_;
  double lead_s_ = 0;           // of the last picture, off the beat
  std::int64_t since_odd_ = 0;  // pictures since the last hole or extra one
  bool hole_open_ = false;
  bool extra_open_ = false;
  TrackTimes times_;
  base::Histogram jitter_;
};

}  // namespace probes
