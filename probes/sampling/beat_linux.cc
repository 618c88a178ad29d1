// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/beat.h"

#include <time.h>

#include <algorithm>

namespace probes {
namespace {

constexpr std::int64_t kLongestSleepNs = 120'000'000;  // so that a stop never waits long

std::int64_t Ns(clockid_t clock) {
  struct timespec now {};
  clock_gettime(clock, &now);
  return std::int64_t{now.tv_sec} * 1'000'000'000 + now.tv_nsec;
}

/// Waits for `deadline_ns` in short sleeps; false when it is time to end.
bool WaitUntil(base::Clock& clock, std::int64_t deadline_ns, const std::stop_token& stop) {
  for (std::int64_t now = clock.NowNs(); now < deadline_ns; now = clock.NowNs()) {
    if (stop.stop_requested()) {
      return false;
    }
    clock.SleepUntilNs(std::min(deadline_ns, now + kLongestSleepNs));
  }
  return !stop.stop_requested();
}

}  // namespace

TimeMoment ReadClocks() {
  constexpr std::int64_t kShortNs = 5'000;
  constexpr int kTries = 5;
  TimeMoment best;
  std::int64_t shortest = INT64_MAX;
  for (int i = 0; i < kTries && shortest > kShortNs; ++i) {
    const std::int64_t before = Ns(CLOCK_MONOTONIC);
    const std::int64_t wall = Ns(CLOCK_REALTIME);
    const std::int64_t boot = Ns(CLOCK_BOOTTIME);
    const std::int64_t after = Ns(CLOCK_MONOTONIC);
    if (after - before < shortest) {
      shortest = after - before;
      best = {before + shortest / 2, wall, boot};
    }
  }
  return best;
}

void OnTheBeat(base::Clock& clock, const std::stop_token& stop, std::int64_t start_ns,
               std::int64_t period_ns, const std::function<void()>& sample) {
  std::int64_t due_ns = start_ns + period_ns;
  while (WaitUntil(clock, due_ns, stop)) {
    sample();
    due_ns += ((clock.NowNs() - due_ns) / period_ns + 1) * period_ns;
  }
}

}  // namespace probes
