// SPDX-License-Identifier: Apache-2.0
//
// How busy one stage was in each second of a run, and how long its longest call took.

#pragma once

#include <cstdint>
#include <mutex>
#include <vector>

#include "bench/data/results.h"

namespace bench {

/// Adds up calls of one thread; may be read from another.
class BusySeconds {
 public:
  struct Second {
    std::int64_t calls = 0;  // that ended in it
    std::int64_t busy_ns = 0;
    std::int64_t longest_ns = 0;  // of the calls that ended in it, however long ago they began
  };

  /// A call from `begun_ns` to `ended_ns` of production time; one that spans
  /// several seconds counts in each. What lies before 0 is left out.
  void Add(std::int64_t begun_ns, std::int64_t ended_ns);
  std::vector<Second> seconds() const;

 private:
  mutable std::mutex mutex_;
  std::vector<Second> seconds_;
};

/// An output's encoder and writer side by side.
std::vector<StageSecond> JoinSeconds(const BusySeconds& encode, const BusySeconds& write);

}  // namespace bench
