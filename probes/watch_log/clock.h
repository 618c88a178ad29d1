// SPDX-License-Identifier: Apache-2.0
//
// Wall clock against the log's own time: stretches, steps, and the way from one to the other.

#pragma once

#include "probes/data/watch_log.h"

namespace probes {

/// Takes samples in order, and finds the stretches and steps of the wall clock.
class WatchClockFollower {
 public:
  void Take(const WatchSample& sample, WatchLog& log);

 private:
  bool begun_ = false;
  std::int64_t ahead_us_ = 0;
};

}  // namespace probes
