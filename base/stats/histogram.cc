// SPDX-License-Identifier: Apache-2.0

#include "base/stats/histogram.h"

#include <algorithm>
#include <bit>
#include <cmath>

namespace base {
namespace {

constexpr int kSubBucketBits = 6;

// Values below 64 have a bucket each; above, the six bits after the leading
// one choose the bucket. The formula joins both without a gap.
std::size_t BucketOf(std::int64_t value_ns) {
  const auto value = static_cast<std::uint64_t>(value_ns);
  const int shift = std::max(0, static_cast<int>(std::bit_width(value)) - kSubBucketBits - 1);
  return (static_cast<std::size_t>(shift) << kSubBucketBits) +
         static_cast<std::size_t>(value >> shift);
}

Histogram::Bucket RangeOf(std::size_t bucket) {
  const std::size_t per_octave = std::size_t{1} << kSubBucketBits;
  const std::size_t shift = bucket < per_octave ? 0 : bucket / per_octave - 1;
  const auto low = static_cast<std::int64_t>((bucket - shift * per_octave) << shift);
  return {low, low + (std::int64_t{1} << shift) - 1, 0};
}

}  // namespace

void Histogram::Record(std::int64_t value_ns) {
  const std::int64_t value = std::clamp<std::int64_t>(value_ns, 0, kLargestNs);
  ++counts_[BucketOf(value)];
  ++count_;
  max_ns_ = std::max(max_ns_, value);
}

void Histogram::Add(const Histogram& other) {
  for (std::size_t i = 0; i < kBuckets; ++i) {
    counts_[i] += other.counts_[i];
  }
  count_ += other.count_;
  max_ns_ = std::max(max_ns_, other.max_ns_);
}

std::int64_t Histogram::Percentile(double percent) const {
  if (count_ == 0) {
    return 0;
  }
  const auto count = static_cast<double>(count_);
  const double rank = std::clamp(std::ceil(percent / 100.0 * count), 1.0, count);
  std::int64_t missing = static_cast<std::int64_t>(rank);
  for (std::size_t i = 0; i < kBuckets; ++i) {
    missing -= counts_[i];
    if (missing <= 0) {
      const Bucket range = RangeOf(i);
      return std::min(max_ns_, range.low_ns + (range.up_to_ns - range.low_ns) / 2);
    }
  }
  return max_ns_;
}

std::vector<Histogram::Bucket> Histogram::Buckets() const {
  std::vector<Bucket> filled;
  for (std::size_t i = 0; i < kBuckets; ++i) {
    if (counts_[i] != 0) {
      filled.push_back(RangeOf(i));
      filled.back().count = counts_[i];
    }
  }
  return filled;
}

}  // namespace base
