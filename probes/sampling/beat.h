// SPDX-License-Identifier: Apache-2.0
//
// When to sample: all clocks at one moment, and an even beat.

#pragma once

#include <cstdint>
#include <functional>
#include <stop_token>

#include "base/clock.h"

namespace probes {

/// What the clocks show at one moment.
struct TimeMoment {
  std::int64_t now_ns = 0;   // monotonic
  std::int64_t wall_ns = 0;  // UTC since 1970
  std::int64_t boot_ns = 0;  // as monotonic, but it goes on while the PC sleeps
};

/// Of some tries the one that took least.
TimeMoment ReadClocks();

/// Calls `sample` every `period_ns` after `start_ns` until it is asked to stop, which takes 120 ms
/// at most. What comes too late is left out, the next one is on the beat again. `clock` must
/// really wait.
void OnTheBeat(base::Clock& clock, const std::stop_token& stop, std::int64_t start_ns,
               std::int64_t period_ns, const std::function<void()>& sample);

}  // namespace probes
