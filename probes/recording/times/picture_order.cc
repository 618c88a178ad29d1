// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/times/picture_order.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace probes {
namespace {

/// Codecs reorder by 16 pictures at most (H.264 and HEVC: max_dec_frame_buffering).
constexpr std::size_t kReorder = 17;
constexpr double kMostReorderSeconds = 60;

using Kind = PictureEvent::Kind;

}  // namespace

void PictureOrder::Add(double shown_s, std::optional<double> decoded_s,
                       std::vector<PictureEvent>& events) {
  if (decoded_s) {
    // No codec shows a picture minutes away from where it is decoded.
    const bool believed = std::fabs(shown_s - *decoded_s) <= kMostReorderSeconds;
    AddDecoded(believed ? shown_s : *decoded_s, *decoded_s, events);
  } else {
    AddShown(shown_s, events);
  }
}

void PictureOrder::AddDecoded(double shown_s, double decoded_s, std::vector<PictureEvent>& events) {
  switch (jumps_.Look(decoded_s)) {
    case JumpWatch::Answer::kHold:
      held_s_ = shown_s;
      return;
    case JumpWatch::Answer::kHeldIsWrong:
      events.push_back({Kind::kWrong, held_s_});
      break;
    case JumpWatch::Answer::kJumped:
      Empty(events);
      events.push_back({Kind::kJumped, std::min(held_s_, shown_s)});
      Push(held_s_, events);
      break;
    case JumpWatch::Answer::kGoesOn:
      break;
  }
  Push(shown_s, events);
}

/// Before what was given out already, which no reordering reaches.
bool PictureOrder::LiesBehind(double shown_s) const {
  if (last_out_s_) {
    return shown_s < *last_out_s_ - kStepBackSeconds;
  }
  return !queue_.empty() && shown_s < queue_.top() - kMostReorderSeconds;
}

void PictureOrder::AddShown(double shown_s, std::vector<PictureEvent>& events) {
  if (LiesBehind(shown_s)) {
    if (behind_s_ && std::fabs(shown_s - *behind_s_) < kMostReorderSeconds) {
      DropAhead(events);
      Empty(events);
      events.push_back({Kind::kJumped, std::min(*behind_s_, shown_s)});
      Push(*behind_s_, events);
      behind_s_.reset();
      Push(shown_s, events);
      return;
    }
    if (behind_s_) {
      events.push_back({Kind::kWrong, *behind_s_});
    }
    behind_s_ = shown_s;
    return;
  }
  if (behind_s_) {
    events.push_back({Kind::kWrong, *behind_s_});
    behind_s_.reset();
  }
  if (newest_s_ && shown_s - *newest_s_ > kLongestHoleSeconds) {
    ahead_s_.push_back(shown_s);
    since_ahead_ = 0;
    if (ahead_s_.size() >= kReorder) {
      JumpAhead(events);
    }
    return;
  }
  if (!ahead_s_.empty() && ++since_ahead_ >= static_cast<int>(kReorder)) {
    DropAhead(events);
  }
  Push(shown_s, events);
}

void PictureOrder::Push(double shown_s, std::vector<PictureEvent>& events) {
  newest_s_ = std::max(newest_s_.value_or(shown_s), shown_s);
  queue_.push(shown_s);
  if (queue_.size() > kReorder) {
    Pop(events);
  }
}

void PictureOrder::Pop(std::vector<PictureEvent>& events) {
  last_out_s_ = queue_.top();
  events.push_back({Kind::kShown, queue_.top()});
  queue_.pop();
}

/// All that waits; what follows is held against nothing before it.
void PictureOrder::Empty(std::vector<PictureEvent>& events) {
  while (!queue_.empty()) {
    Pop(events);
  }
  last_out_s_.reset();
  newest_s_.reset();
}

void PictureOrder::JumpAhead(std::vector<PictureEvent>& events) {
  Empty(events);
  std::sort(ahead_s_.begin(), ahead_s_.end());
  events.push_back({Kind::kJumped, ahead_s_.front()});
  for (const double shown_s : ahead_s_) {
    Push(shown_s, events);
  }
  ahead_s_.clear();
}

void PictureOrder::DropAhead(std::vector<PictureEvent>& events) {
  for (const double shown_s : ahead_s_) {
    events.push_back({Kind::kWrong, shown_s});
  }
  ahead_s_.clear();
}

void PictureOrder::Forget(std::vector<PictureEvent>& events) {
  if (behind_s_) {
    events.push_back({Kind::kWrong, *behind_s_});
    behind_s_.reset();
  }
  // One alone may be a wrong time, two agree.
  if (ahead_s_.size() >= 2) {
    JumpAhead(events);
  } else {
    DropAhead(events);
  }
  Empty(events);
  if (jumps_.Holds()) {
    events.push_back({Kind::kWrong, held_s_});
  }
  jumps_.Forget();
}

}  // namespace probes
