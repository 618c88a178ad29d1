// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/times/sound_times.h"

#include <algorithm>
#include <cmath>

namespace probes {
namespace {

/// Containers round times to a millisecond, on both sides of a packet; no more than that is no
/// hole.
constexpr double kRoundingSeconds = 0.0025;
/// Of stamps that jitter; less than what anyone hears as a hole.
constexpr double kMostToleranceSeconds = 0.02;
constexpr std::int64_t kRepayWithin = 3;
constexpr double kMostStretchSeconds = 0.1;
/// Packets that follow each other evenly are looked at in strides of this.
constexpr double kStrideSeconds = 0.25;

}  // namespace

SoundTimes::SoundTimes(base::Rational tick_s, int samples_per_second, double lead_in_s,
                       TimesFrom times_from)
    : tick_s_(base::ToDouble(tick_s)), lead_in_s_(std::clamp(lead_in_s, 0.0, 1.0)) {
  times_.kind = TrackKind::kAudio;
  times_.times_from = times_from;
  times_.rate_numerator = std::max(samples_per_second, 0);
  times_.rate_from = samples_per_second > 0 ? RateFrom::kContainer : RateFrom::kUnknown;
}

double SoundTimes::Seconds(std::int64_t ticks) const {
  return tick_s_ * static_cast<double>(ticks) + shift_s_;
}

void SoundTimes::Add(const SoundRun& run) {
  times_.bytes += run.first.bytes;
  times_.present += run.packets;
  times_.damaged += run.first.damaged ? 1 : 0;
  counted_ = counted_ && run.counted;
  const auto& at = Usable(run.first.shown) ? run.first.shown : run.first.decoded;
  if (!Usable(at)) {
    FollowUntimed(run);
    return;
  }
  const double clock_s = Seconds(*at);
  const auto answer = jumps_.Look(clock_s);
  if (answer == JumpWatch::Answer::kHeldIsWrong) {
    ++times_.out_of_order;
  } else if (answer == JumpWatch::Answer::kJumped) {
    Jump(held_s_ + anchor_s_);
    Take(held_s_ + anchor_s_, held_carried_s_);
  } else if (answer == JumpWatch::Answer::kHold && run.packets == 1) {
    held_s_ = clock_s;
    held_carried_s_ = run.carried_s;
    return;
  } else if (answer == JumpWatch::Answer::kHold) {
    Jump(clock_s + anchor_s_);
  }
  const double at_s = clock_s + anchor_s_;
  Take(at_s, run.carried_s);
  if (run.packets > 1) {
    const auto steps = static_cast<double>(run.packets - 1);
    AddEven(at_s, run);
    jumps_.Accept(clock_s + steps * run.step_s);
  }
}

void SoundTimes::FollowUntimed(const SoundRun& run) {
  if (!in_stretch_ || run.carried_s <= 0) {
    times_.untimed += run.packets;
    return;
  }
  // One of several blocks that share a time: it follows the one before.
  const auto before = static_cast<double>(run.packets - 1);
  last_at_s_ = *end_s_ + before * run.carried_s;
  block_s_ = run.carried_s;
  end_s_ = last_at_s_ + run.carried_s;
}

void SoundTimes::AddEven(double at_s, const SoundRun& run) {
  std::int64_t left = run.packets - 1;
  const bool follows = std::fabs(run.step_s - run.carried_s) <= Tolerance(run.carried_s);
  const auto stride =
      follows && run.step_s > 0
          ? static_cast<std::int64_t>(std::clamp(kStrideSeconds / run.step_s, 1.0, 1e9))
          : 1;
  std::int64_t done = 0;
  while (left > 0) {
    const std::int64_t packets = std::min(stride, left);
    done += packets;
    left -= packets;
    // The stride's packets as one that ends where the last of them does.
    const double apart_s = run.step_s - run.carried_s;
    const double last_s = at_s + static_cast<double>(done) * run.step_s;
    if (follows) {
      Follow(static_cast<double>(packets) * run.step_s, static_cast<double>(packets) * apart_s);
      last_at_s_ = last_s;
      end_s_ = last_s + run.carried_s;
    } else {
      Take(last_s, run.carried_s);
    }
  }
}

double SoundTimes::Tolerance(double carried_s) const {
  return kRoundingSeconds + tick_s_ + std::min(carried_s / 2, kMostToleranceSeconds);
}

void SoundTimes::Follow(double step_s, double apart_s) {
  elapsed_s_ += step_s;
  ahead_s_ -= apart_s;
  clock_.Add(elapsed_s_, ahead_s_);
}

void SoundTimes::Take(double at_s, double carried_s) {
  first_s_ = first_s_.value_or(at_s);
  // Numbers are sums of what came before: there is nothing in them that could be a hole.
  if (in_stretch_ && block_s_ > 0 && times_.times_from != TimesFrom::kNumbers) {
    const double apart_s = at_s - *end_s_;
    ++since_hole_;
    if (std::fabs(apart_s) <= Tolerance(block_s_)) {
      Follow(at_s - last_at_s_, joined_ ? 0 : apart_s);
      most_apart_s_ = std::max(most_apart_s_, joined_ ? 0 : std::fabs(apart_s));
    } else if (apart_s > 0 && blocks_ == 1 && apart_s < kMostStretchSeconds) {
      // Writers of fragments stretch a track's first block to where the others begin.
    } else if (apart_s > 0) {
      gaps_.Add({*end_s_, apart_s, 0});
      open_hole_s_ = apart_s;
      since_hole_ = 0;
      elapsed_s_ += block_s_;
    } else if (since_hole_ <= kRepayWithin &&
               std::fabs(open_hole_s_ + apart_s) <= 2 * Tolerance(block_s_)) {
      gaps_.Drop();  // one packet was stamped late, nothing is missing
      open_hole_s_ = 0;
      since_hole_ = kRepayWithin + 1;
    } else {
      ++times_.repeated;
      since_hole_ = kRepayWithin + 1;
    }
  }
  ++blocks_;
  joined_ = false;
  in_stretch_ = true;
  last_at_s_ = at_s;
  block_s_ = carried_s;
  end_s_ = at_s + carried_s;
}

/// The clock goes on from another time: places go on where the sound was.
void SoundTimes::Jump(double at_s) {
  if (in_stretch_) {
    ++times_.step_count;
    if (times_.steps.size() < kMostSteps) {
      times_.steps.push_back({last_at_s_, at_s - *end_s_});
    }
    anchor_s_ += *end_s_ - at_s;
  }
  in_stretch_ = false;
  since_hole_ = kRepayWithin + 1;
}

void SoundTimes::Join(double shift_s) {
  times_.out_of_order += jumps_.Holds() ? 1 : 0;
  jumps_.Forget();
  joined_ = true;
  if (shift_s != shift_s_) {
    in_stretch_ = false;
    since_hole_ = kRepayWithin + 1;
  }
  shift_s_ = shift_s;
}

std::optional<double> SoundTimes::end_s() const {
  return end_s_ ? std::optional(*end_s_ - anchor_s_) : std::nullopt;
}

std::optional<double> SoundTimes::first_s() const {
  if (!first_s_) {
    return std::nullopt;
  }
  return *first_s_ + lead_in_s_;
}

TrackTimes SoundTimes::Finish(double zero_s) {
  times_.out_of_order += jumps_.Holds() ? 1 : 0;
  times_.first_s = first_s().value_or(zero_s) - zero_s;
  times_.end_s = end_s_.value_or(zero_s) - zero_s;
  times_.due = times_.present;
  gaps_.Finish(zero_s, times_);
  for (TimeStep& step : times_.steps) {
    step.at_s -= zero_s;
  }
  times_.uneven_ms = most_apart_s_ * 1000;
  if (counted_) {
    times_.clock = clock_.Slope(tick_s_);
  }
  return times_;
}

}  // namespace probes
