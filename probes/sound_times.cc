#include "probes/sound_times.h"

#include <cmath>

namespace probes {
namespace {

/// Containers round times to a millisecond; twice that, and the tick, is no hole.
constexpr double kRoundingSeconds = 0.0025;
constexpr double kStepBackSeconds = 1;

}  // namespace

SoundTimes::SoundTimes(base::Rational tick_s, int samples_per_second)
    : tick_s_(tick_s), samples_per_second_(samples_per_second) {
  times_.kind = TrackKind::kAudio;
  times_.rate = base::Rational(samples_per_second);
  times_.rate_from = samples_per_second > 0 ? RateFrom::kContainer : RateFrom::kUnknown;
}

void SoundTimes::Add(const PacketTime& packet, std::int64_t duration, std::int64_t samples) {
  times_.bytes += packet.bytes;
  ++times_.present;
  const auto shown = packet.shown ? packet.shown : packet.decoded;
  if (!shown) {
    ++times_.untimed;
    return;
  }
  const double tick_s = base::ToDouble(tick_s_);
  const double at_s = tick_s * static_cast<double>(*shown);
  const double carried_s =
      samples > 0 && samples_per_second_ > 0
          ? static_cast<double>(samples) / static_cast<double>(samples_per_second_)
          : tick_s * static_cast<double>(duration);
  if (!last_s_) {
    times_.first_s = at_s;
  } else {
    const double hole_s = at_s - *last_s_ - block_s_;
    if (hole_s < -kStepBackSeconds) {
      times_.steps.push_back({*last_s_, at_s - *last_s_});
    } else if (hole_s > std::max(kRoundingSeconds, block_s_ / 2)) {
      ++times_.gap_count;
      if (times_.gaps.size() < kMostGaps) {
        times_.gaps.push_back({*last_s_ + block_s_, hole_s, 0});
      }
    } else {
      ahead_s_ -= hole_s;
      clock_.Add(at_s, ahead_s_);
    }
  }
  last_s_ = at_s;
  block_s_ = carried_s;
}

TrackTimes SoundTimes::Finish(double zero_s) {
  times_.first_s -= zero_s;
  times_.last_s = last_s_ ? *last_s_ + block_s_ - zero_s : 0;
  for (TimeGap& gap : times_.gaps) {
    gap.at_s -= zero_s;
  }
  for (TimeStep& step : times_.steps) {
    step.at_s -= zero_s;
  }
  return times_;
}

}  // namespace probes
