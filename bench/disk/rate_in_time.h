// SPDX-License-Identifier: Apache-2.0
//
// Bytes written turned into a rate for each window of time.

#pragma once

#include <cstdint>
#include <vector>

namespace bench {

/// Windows of equal length from the first write on. A write that lasts across
/// windows gives each its share, so a stall shows in every window it covers.
class DiskWindows {
 public:
  /// `window_ns` above zero.
  DiskWindows(std::int64_t start_ns, std::int64_t window_ns)
      : start_ns_(start_ns), window_ns_(window_ns) {}

  /// `bytes` were written from `begin_ns` to `end_ns`, both on one clock, in order.
  void Add(std::int64_t begin_ns, std::int64_t end_ns, std::int64_t bytes);

  /// Rates in bytes a second of the windows that were over at `now_ns`.
  std::vector<double> Rates(std::int64_t now_ns) const;

 private:
  std::int64_t start_ns_;
  std::int64_t window_ns_;
  std::vector<double> bytes_;
};

}  // namespace bench
