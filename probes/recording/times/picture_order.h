// SPDX-License-Identifier: Apache-2.0
//
// The times of pictures in order of presentation, with clocks that were set told from pictures with
// a wrong time.

#pragma once

#include <functional>
#include <optional>
#include <queue>
#include <vector>

#include "probes/recording/times/packet_time.h"

namespace probes {

/// What became of pictures, in order of presentation.
struct PictureEvent {
  enum class Kind {
    kShown,   // a picture of that time
    kJumped,  // the clock goes on from that time, which the next picture has
    kWrong,   // a picture whose time fits nothing around it
  };
  Kind kind = Kind::kShown;
  double at_s = 0;
};

/// Containers that store decoding times tell a clock that was set by those. Without them (RFC 9559
/// has none) pictures that lie on both sides of a hole come in any order within what codecs
/// reorder: only what cannot be reordering is a jump.
class PictureOrder {
 public:
  /// Seconds in decoding order; what is certain by now is put behind `events`.
  void Add(double shown_s, std::optional<double> decoded_s, std::vector<PictureEvent>& events);
  /// Another file follows, with any time: all that waits is given out.
  void Forget(std::vector<PictureEvent>& events);

 private:
  void AddDecoded(double shown_s, double decoded_s, std::vector<PictureEvent>& events);
  void AddShown(double shown_s, std::vector<PictureEvent>& events);
  bool LiesBehind(double shown_s) const;
  void Push(double shown_s, std::vector<PictureEvent>& events);
  void Pop(std::vector<PictureEvent>& events);
  void Empty(std::vector<PictureEvent>& events);
  void JumpAhead(std::vector<PictureEvent>& events);
  void DropAhead(std::vector<PictureEvent>& events);

  JumpWatch jumps_;
  double held_s_ = 0;  // shown time of the picture that the watch keeps back
  std::priority_queue<double, std::vector<double>, std::greater<>> queue_;
  std::optional<double> last_out_s_;  // since the last jump
  std::optional<double> newest_s_;    // since the last jump
  std::optional<double> behind_s_;    // kept back: before all that can still come
  std::vector<double> ahead_s_;       // kept back: further than any hole
  int since_ahead_ = 0;               // pictures that were not
};

}  // namespace probes
