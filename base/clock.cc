// SPDX-License-Identifier: Apache-2.0

#include "base/clock.h"

#include <chrono>
#include <thread>

namespace base {

std::int64_t SystemClock::NowNs() const {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(
             std::chrono::steady_clock::now().time_since_epoch())
      .count();
}

void SystemClock::SleepUntilNs(std::int64_t deadline_ns) {
  std::this_thread::sleep_until(
      std::chrono::steady_clock::time_point(std::chrono::nanoseconds(deadline_ns)));
}

void ManualClock::SleepUntilNs(std::int64_t deadline_ns) {
  std::int64_t now = now_ns_.load();
  while (now < deadline_ns && !now_ns_.compare_exchange_weak(now, deadline_ns)) {
  }
}

}  // namespace base
