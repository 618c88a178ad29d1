// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/rate_in_time.h"

#include <algorithm>

namespace bench {

void DiskWindows::Add(std::int64_t begin_ns, std::int64_t end_ns, std::int64_t bytes) {
  const std::int64_t begin = std::max<std::int64_t>(0, begin_ns - start_ns_);
  const std::int64_t end = std::max(begin + 1, end_ns - start_ns_);
  const double per_ns = static_cast<double>(bytes) / static_cast<double>(end - begin);
  for (std::int64_t window = begin / window_ns_; window * window_ns_ < end; ++window) {
    const std::int64_t from = std::max(begin, window * window_ns_);
    const std::int64_t to = std::min(end, (window + 1) * window_ns_);
    const auto index = static_cast<std::size_t>(window);
    if (bytes_.size() <= index) {
      bytes_.resize(index + 1);
    }
    bytes_[index] += per_ns * static_cast<double>(to - from);
  }
}

std::vector<double> DiskWindows::Rates(std::int64_t now_ns) const {
  const auto whole =
      static_cast<std::size_t>(std::max<std::int64_t>(0, now_ns - start_ns_) / window_ns_);
  std::vector<double> rates(whole);
  for (std::size_t i = 0; i < std::min(whole, bytes_.size()); ++i) {
    rates[i] = bytes_[i] * 1e9 / static_cast<double>(window_ns_);
  }
  return rates;
}

}  // namespace bench
