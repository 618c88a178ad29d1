// SPDX-License-Identifier: Apache-2.0
//
// The times of one packet, and what tells a clock that was set from one packet with a wrong time.

#pragma once

#include <cstdint>
#include <optional>

namespace probes {

/// In ticks of the track's time base, within kMostTicks either way.
struct PacketTime {
  std::optional<std::int64_t> shown;    // presentation time
  std::optional<std::int64_t> decoded;  // decoding time
  std::int64_t bytes = 0;
  bool damaged = false;
};

/// Differences of two such times fit an int64.
inline constexpr std::int64_t kMostTicks = std::int64_t{1} << 61;

inline bool Usable(const std::optional<std::int64_t>& ticks) {
  return ticks && *ticks <= kMostTicks && *ticks >= -kMostTicks;
}

/// A time back by more than this is no reordering.
inline constexpr double kStepBackSeconds = 1;
/// A hole longer than this is a clock that was set, or a pause.
inline constexpr double kLongestHoleSeconds = 600;

/// Looks at decoding times. A time that jumps is held until the next one tells whether the clock
/// goes on from there or only that one packet was wrong.
class JumpWatch {
 public:
  enum class Answer {
    kGoesOn,
    kHold,         // keep this packet back
    kJumped,       // the packet kept back, and this one, go on from a new time
    kHeldIsWrong,  // the packet kept back is out of order; this one goes on
  };

  Answer Look(double at_s) {
    const bool jumps = last_s_ && Far(at_s - *last_s_);
    if (!held_s_) {
      if (jumps) {
        held_s_ = at_s;
        return Answer::kHold;
      }
      last_s_ = at_s;
      return Answer::kGoesOn;
    }
    const bool follows_held = !Far(at_s - *held_s_);
    held_s_.reset();
    last_s_ = at_s;
    return jumps && follows_held ? Answer::kJumped : Answer::kHeldIsWrong;
  }
  /// Whether a packet is kept back at the end.
  bool Holds() const { return held_s_.has_value(); }
  /// What is at hand goes on from here, whatever was before.
  void Accept(double at_s) {
    last_s_ = at_s;
    held_s_.reset();
  }
  /// Files are joined: any time may follow.
  void Forget() {
    last_s_.reset();
    held_s_.reset();
  }

 private:
  static bool Far(double step_s) {
    return step_s < -kStepBackSeconds || step_s > kLongestHoleSeconds;
  }

  std::optional<double> last_s_;
  std::optional<double> held_s_;
};

}  // namespace probes
