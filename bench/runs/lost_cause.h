// SPDX-License-Identifier: Apache-2.0
//
// Tells while a rehearsal runs that its outcome is beyond doubt, to spend the time on the next one.

#pragma once

#include <cstdint>

#include "profiles/profile.h"

namespace bench {

/// Fed with a rehearsal's progress, from one thread.
class LostCause {
 public:
  /// A rehearsal of `seconds` of this profile.
  LostCause(const profiles::Profile& profile, double seconds);

  /// `fraction` of the rehearsal is over and `dropped` frames are lost so far.
  /// True from when, after the longest warm-up and two seconds more, a
  /// twentieth of the frames due since has been lost.
  bool Look(double fraction, std::int64_t dropped);
  bool found() const { return found_; }

 private:
  const double seconds_;
  double frames_per_second_ = 0;  // of all outputs
  std::int64_t dropped_warming_up_ = 0;
  bool found_ = false;
};

}  // namespace bench
