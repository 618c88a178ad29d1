// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/times/picture_times.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace probes {
namespace {

constexpr std::size_t kLearn = 2000;
/// A picture this many after a hole may still be the one that was thought missing.
constexpr std::int64_t kRepayWithin = 3;
constexpr double kOnBeatLeast = 0.8;
constexpr double kShortestPeriodSeconds = 1e-5;
constexpr double kLeastTicks = 3;  // in a period
constexpr double kWholeTicks = 1e-3;
constexpr double kSingleAtTicks = 0.75;  // of steps that are one period
constexpr double kAtOnceShare = 0.02;    // of pictures that share a time: they come faster than it
/// So many steps of several periods in a row, all alike, are a camera that changed its rate.
constexpr std::int64_t kSteadySteps = 25;
constexpr std::int64_t kMostSlower = 4;  // cameras in the dark: 60, 30, 15 a second
constexpr double kSteadyShare = 0.5;     // of all that would be missing
constexpr double kMostCounted = 1e15;
/// Without a beat a hole is what anyone would see.
constexpr double kPauseSeconds = 1;

}  // namespace

PictureTimes::PictureTimes(base::Rational tick_s, std::optional<base::Rational> stated_rate,
                           const PictureFacts& facts)
    : tick_s_(base::ToDouble(tick_s)), stated_rate_(stated_rate), facts_(facts) {
  times_.kind = TrackKind::kVideo;
  times_.times_from = facts.times_from;
}

bool PictureTimes::TooCoarse(const FoundBeat& beat) const {
  // A clock that ticks with the pictures is exact, one that ticks a little slower is not; and
  // pictures a little slower than such a clock look like many that are lost.
  const double ticks = beat.period_s / tick_s_;
  const bool whole =
      std::round(ticks) >= 1 && std::fabs(ticks / std::round(ticks) - 1) < kWholeTicks;
  const bool crowded =
      static_cast<double>(at_once_) > kAtOnceShare * static_cast<double>(learning_.size());
  return ticks < kLeastTicks && !(whole && beat.single >= kSingleAtTicks && !crowded);
}

double PictureTimes::Seconds(std::int64_t ticks) const {
  return tick_s_ * static_cast<double>(ticks) + shift_s_;
}

void PictureTimes::Add(const PacketTime& packet) {
  if (packet.bytes == 0) {
    return;
  }
  times_.bytes += packet.bytes;
  ++times_.present;
  times_.damaged += packet.damaged ? 1 : 0;
  const bool shown = Usable(packet.shown);
  const bool decoded = Usable(packet.decoded);
  if (!shown && !decoded) {
    ++times_.untimed;
    return;
  }
  CountSwapped(Seconds(shown ? *packet.shown : *packet.decoded));
  order_.Add(Seconds(shown ? *packet.shown : *packet.decoded),
             decoded ? std::optional(Seconds(*packet.decoded)) : std::nullopt, events_);
  TakeEvents();
}

void PictureTimes::CountSwapped(double stored_s) {
  const bool swapped =
      !facts_.reorders && stored_s < furthest_s_ && furthest_s_ - stored_s < kStepBackSeconds;
  times_.swapped += swapped ? 1 : 0;
  furthest_s_ = swapped ? furthest_s_ : stored_s;
}

void PictureTimes::TakeEvents() {
  for (const PictureEvent& event : events_) {
    switch (event.kind) {
      case PictureEvent::Kind::kShown:
        Next(event.at_s + anchor_s_);
        break;
      case PictureEvent::Kind::kJumped:
        Jump(event.at_s + anchor_s_);
        break;
      case PictureEvent::Kind::kWrong:
        ++times_.out_of_order;
        break;
    }
  }
  events_.clear();
}

void PictureTimes::Next(double shown_s) {
  if (last_s_ && in_stretch_ && shown_s < *last_s_) {
    ++times_.out_of_order;
    return;
  }
  ++timed_;
  first_s_ = first_s_.value_or(shown_s);
  if (learnt_) {
    Count(shown_s);
    return;
  }
  if (in_stretch_ && shown_s - *last_s_ > kLongestHoleSeconds) {
    shown_s = Jump(shown_s);
  }
  learning_.push_back({shown_s, !in_stretch_});
  in_stretch_ = true;
  last_s_ = shown_s;
  if (learning_.size() >= kLearn) {
    Learn();
  }
}

double PictureTimes::MeanStep() const {
  const double first_s = first_s_.value_or(0);
  return timed_ > 1 && last_s_ ? (*last_s_ - first_s) / static_cast<double>(timed_ - 1) : 0;
}

/// The clock goes on from another time: places go on where they were. `shown_s`: the place that the
/// next picture would have had; returns the one that it has.
double PictureTimes::Jump(double shown_s) {
  in_stretch_ = false;
  if (!last_s_) {
    return shown_s;
  }
  const double due_s =
      *last_s_ + (beat_ ? beat_->period_s : std::clamp(MeanStep(), 0.0, kPauseSeconds));
  ++times_.step_count;
  if (times_.steps.size() < kMostSteps) {
    times_.steps.push_back({*last_s_, shown_s - due_s});
  }
  anchor_s_ += due_s - shown_s;
  return due_s;
}

void PictureTimes::Settle() {
  order_.Forget(events_);
  TakeEvents();
}

void PictureTimes::Join(double shift_s) {
  Settle();
  if (shift_s != shift_s_) {
    // The new file's first picture follows by construction: nothing is judged between them.
    in_stretch_ = false;
  }
  shift_s_ = shift_s;
}

void PictureTimes::Learn() {
  std::vector<double> steps_s;
  for (std::size_t i = 1; i < learning_.size(); ++i) {
    if (!learning_[i].begins) {
      steps_s.push_back(learning_[i].shown_s - learning_[i - 1].shown_s);
    }
  }
  beat_ = FindBeat(steps_s, stated_rate_);
  fastest_s_ = FastestStep(steps_s);
  at_once_ = std::count(steps_s.begin(), steps_s.end(), 0.0);
  if (beat_ && !beat_->stated && facts_.codec_rate && IsMultiple(*facts_.codec_rate, *beat_)) {
    beat_->stated = facts_.codec_rate;
  }
  const bool judged = steps_s.size() >= 3;
  if (times_.times_from == TimesFrom::kPages ||
      (beat_ && (beat_->period_s < kShortestPeriodSeconds || TooCoarse(*beat_)))) {
    beat_.reset();
  } else {
    times_.beat = beat_ ? Beat::kConstant : judged ? Beat::kVariable : Beat::kUnknown;
  }
  learnt_ = true;
  for (const Early& early : std::exchange(learning_, {})) {
    in_stretch_ = in_stretch_ && !early.begins;
    Count(early.shown_s);
  }
}

void PictureTimes::BeginStretch(double shown_s) {
  times_.due += 1;
  lead_s_ = 0;
  hole_open_ = false;
  extra_open_ = false;
  in_stretch_ = true;
  first_of_stretch_ = true;
  last_s_ = shown_s;
}

void PictureTimes::Count(double shown_s) {
  if (!in_stretch_) {
    BeginStretch(shown_s);
    return;
  }
  const double step_s = shown_s - *last_s_;
  if (step_s > kLongestHoleSeconds) {
    BeginStretch(Jump(shown_s));
    return;
  }
  if (!beat_) {
    times_.due += 1;
    if (step_s > kPauseSeconds) {
      gaps_.Add({*last_s_, step_s, 0});
    }
    last_s_ = shown_s;
    return;
  }
  // A picture is held against the beat, not against the picture before it: both may be off it.
  const double period_s = beat_->period_s;
  const auto periods = std::max<std::int64_t>(0, std::llround((step_s + lead_s_) / period_s));
  const double off_s = step_s + lead_s_ - static_cast<double>(periods) * period_s;
  if (first_of_stretch_ && std::fabs(off_s) > kOnBeatPeriods * period_s) {
    BeginStretch(shown_s);  // one picture is no beat; writers stretch the first one
    first_of_stretch_ = false;
    return;
  }
  first_of_stretch_ = false;
  lead_s_ = kLeadKept * off_s;
  CountOff(step_s, periods, off_s);
  CountSteady(periods);
  if (periods == 0) {
    TakeExtra();
  } else if (periods > 1) {
    TakeHole({*last_s_ + period_s, static_cast<double>(periods - 1) * period_s, periods - 1});
  }
  last_s_ = shown_s;
}

void PictureTimes::CountOff(double step_s, std::int64_t periods, double off_s) {
  ++since_odd_;
  ++steps_;
  times_.due += periods;
  on_beat_ += std::fabs(off_s) < kOnBeatPeriods * beat_->period_s ? 1 : 0;
  if (periods == 1) {
    jitter_.Record(std::llround(std::fabs(off_s) * 1e9));
  }
  elapsed_s_ += step_s;
  ahead_s_ += static_cast<double>(periods) * beat_->period_s - step_s;
  clock_.Add(elapsed_s_, ahead_s_);
}

/// What would be missing in long rows of equal steps.
void PictureTimes::CountSteady(std::int64_t periods) {
  steady_steps_ = periods == steady_periods_ ? steady_steps_ + 1 : 1;
  steady_periods_ = periods;
  if (periods > 1 && periods <= kMostSlower && steady_steps_ >= kSteadySteps) {
    steady_missing_ += (periods - 1) * (steady_steps_ == kSteadySteps ? kSteadySteps : 1);
  }
}

void PictureTimes::TakeExtra() {
  if (since_odd_ <= kRepayWithin && hole_open_ && gaps_.TakeBack()) {
    return;  // it was late, not missing
  }
  ++times_.repeated;
  since_odd_ = 0;
  hole_open_ = false;
  extra_open_ = true;
}

void PictureTimes::TakeHole(TimeGap gap) {
  if (since_odd_ <= kRepayWithin && extra_open_) {
    // The one before came early and left its own place empty.
    --times_.repeated;
    extra_open_ = false;
    gap.length_s -= beat_->period_s;
    if (--gap.missing == 0) {
      return;
    }
  }
  gaps_.Add(gap);
  since_odd_ = 0;
  hole_open_ = true;
  extra_open_ = false;
}

std::optional<double> PictureTimes::end_s() const {
  if (!last_s_) {
    return std::nullopt;
  }
  const double step_s = beat_ ? beat_->period_s : std::clamp(MeanStep(), 0.0, kPauseSeconds);
  return *last_s_ - anchor_s_ + step_s;
}

void PictureTimes::Flush() {
  Settle();
  if (!learnt_) {
    Learn();
  }
}

TrackTimes PictureTimes::Finish(double zero_s) {
  Flush();
  times_.first_s = first_s_.value_or(zero_s) - zero_s;
  times_.end_s = end_s().value_or(zero_s - anchor_s_) + anchor_s_ - zero_s;
  gaps_.Finish(zero_s, times_);
  for (TimeStep& step : times_.steps) {
    step.at_s -= zero_s;
  }
  if (!beat_) {
    FinishVariable(times_);
    return times_;
  }
  times_.rate_numerator = beat_->rate.numerator();
  times_.rate_denominator = beat_->rate.denominator();
  times_.rate_from = beat_->from;
  times_.stated_per_s = beat_->stated ? base::ToDouble(*beat_->stated) : 0;
  const double on_beat =
      steps_ > 0 ? static_cast<double>(on_beat_) / static_cast<double>(steps_) : 1;
  times_.on_beat_percent = 100 * on_beat;
  constexpr double kMs = 1e-6;
  times_.jitter = {jitter_.Count(), static_cast<double>(jitter_.Percentile(50)) * kMs,
                   static_cast<double>(jitter_.Percentile(99)) * kMs,
                   static_cast<double>(jitter_.Max()) * kMs};
  const bool changed = times_.missing > 0 && static_cast<double>(steady_missing_) >=
                                                 kSteadyShare * static_cast<double>(times_.missing);
  if (on_beat < kOnBeatLeast || changed) {
    times_.beat = Beat::kVariable;
    FinishVariable(times_);
  } else {
    times_.clock = clock_.Slope(tick_s_);
  }
  return times_;
}

void PictureTimes::FinishVariable(TrackTimes& times) const {
  times.missing = 0;
  times.repeated = 0;
  times.missing_in_part = {};
  times.due = times.present - times.out_of_order - times.untimed;
  times.stated_per_s = 0;
  if (fastest_s_ > kShortestPeriodSeconds && last_s_ && first_s_) {
    times.fastest_per_s = 1 / fastest_s_;
    const double due = std::round((*last_s_ - *first_s_) / fastest_s_) + 1;
    times.missing_at_fastest =
        due < kMostCounted ? std::max<std::int64_t>(0, std::llround(due) - times.due) : 0;
  }
  std::erase_if(times.gaps, [](const TimeGap& gap) { return gap.length_s < kPauseSeconds; });
  for (TimeGap& gap : times.gaps) {
    gap.missing = 0;
  }
  times.gap_count = static_cast<std::int64_t>(times.gaps.size());
  times.gap_seconds = 0;
  for (const TimeGap& gap : times.gaps) {
    times.gap_seconds += gap.length_s;
  }
}

}  // namespace probes
