// SPDX-License-Identifier: Apache-2.0
//
// Durations counted in buckets of bounded relative width, in fixed memory.

#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace base {

/// Log-linear histogram of nanoseconds, 0 to 1000 s; smaller and larger values
/// count as those ends. Each power of two is cut in 64 buckets and a bucket is
/// answered by its middle, so answers are within 1/128 of the exact value
/// (exact below 128 ns). About 18 KB; not thread-safe.
class Histogram {
 public:
  static constexpr std::int64_t kLargestNs = 1'000'000'000'000;

  /// Values from `low_ns` to `up_to_ns`, both included.
  struct Bucket {
    std::int64_t low_ns = 0;
    std::int64_t up_to_ns = 0;
    std::int64_t count = 0;

    bool operator==(const Bucket&) const = default;
  };

  void Record(std::int64_t value_ns);
  /// Adds all that `other` has counted.
  void Add(const Histogram& other);

  std::int64_t Count() const { return count_; }
  /// The largest value recorded, exactly; 0 when there is none.
  std::int64_t Max() const { return max_ns_; }
  /// Nearest-rank percentile, `percent` in 0..100, in ns; 0 when empty.
  std::int64_t Percentile(double percent) const;
  /// Buckets that are not empty, ascending.
  std::vector<Bucket> Buckets() const;

 private:
  static constexpr std::size_t kBuckets = 2240;  // 34 powers of two above 64, and 64 below

  std::array<std::int64_t, kBuckets> counts_{};
  std::int64_t count_ = 0;
  std::int64_t max_ns_ = 0;
};

}  // namespace base
