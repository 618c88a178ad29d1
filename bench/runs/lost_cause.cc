// SPDX-License-Identifier: Apache-2.0

#include "bench/runs/lost_cause.h"

namespace bench {

LostCause::LostCause(const profiles::Profile& profile, double seconds) : seconds_(seconds) {
  for (const profiles::Output& output : profile.outputs) {
    frames_per_second_ += base::ToDouble(output.rate);
  }
}

bool LostCause::Look(double fraction, std::int64_t dropped) {
  constexpr double kWarmUpSeconds = 5;  // the longest
  constexpr double kLookedAtSeconds = 2;
  constexpr double kBeyondDoubt = 0.05;
  const double judged_s = fraction * seconds_ - kWarmUpSeconds;
  if (judged_s < 0) {
    dropped_warming_up_ = dropped;
  } else if (judged_s >= kLookedAtSeconds) {
    const auto lost = static_cast<double>(dropped - dropped_warming_up_);
    found_ = found_ || lost > kBeyondDoubt * frames_per_second_ * judged_s;
  }
  return found_;
}

}  // namespace bench
