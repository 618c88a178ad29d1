// SPDX-License-Identifier: Apache-2.0
//
// The judged part of a rehearsal: what was dropped after the warm-up, and how sure that makes us.

#pragma once

#include <cstdint>
#include <optional>

#include "bench/data/results.h"
#include "profiles/profile.h"

namespace report {

/// Sums over one rehearsal, warm-up left out.
struct JudgedRun {
  double hours = 0;
  std::int64_t due = 0;             // frames of all outputs
  std::int64_t feed_due = 0;        // frames of all cameras
  std::int64_t output_dropped = 0;  // frames of all outputs
  std::int64_t feed_dropped = 0;    // of all feeds, at capture, where no output tells the same
  std::int64_t late = 0;
  double upper_per_hour = 0;  // 95 % bound; infinite when nothing was judged
  double allowed = 0;         // drops that the profile permits in this time

  std::int64_t Dropped() const { return output_dropped + feed_dropped; }
  bool Permitted() const { return static_cast<double>(Dropped()) <= allowed; }
};

/// Nothing when there was no rehearsal.
std::optional<JudgedRun> JudgeRun(const bench::Results& results, const profiles::Margins& margins);

}  // namespace report
