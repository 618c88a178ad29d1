// SPDX-License-Identifier: Apache-2.0
//
// How a file is read forward: everything, or only where one looks.

#include "probes/recording/bytes/forward_bytes.h"

#include <numeric>
#include <vector>

#include <gtest/gtest.h>

#include "probes/recording/bytes/reading_pace.h"

namespace probes {
namespace {

constexpr std::int64_t kMiB = 1 << 20;

/// A disk that needs `seek_s` for every read and `byte_s` for a byte.
struct Disk {
  double seek_s;
  double byte_s;
};

/// The share of `bytes` in blocks of `apart` that is passed over.
double Skipped(const Disk& disk, std::int64_t apart, std::int64_t bytes) {
  ReadingPace pace;
  std::int64_t skipped = 0;
  for (std::int64_t at = 0; at < bytes;) {
    const bool skips = pace.skips();
    const std::int64_t on = skips ? apart : kMiB;
    pace.Note(on, skips ? 1 : on / apart,
              skips ? disk.seek_s + 8192 * disk.byte_s : static_cast<double>(on) * disk.byte_s);
    skipped += skips ? on : 0;
    at += on;
  }
  return static_cast<double>(skipped) / static_cast<double>(bytes);
}

TEST(ReadingPace, TakesTheFasterWay) {
  const std::int64_t hours = 100 * 1024 * kMiB;
  const Disk spinning = {8e-3, 1 / 150e6};
  const Disk solid = {80e-6, 1 / 2e9};
  const Disk memory = {1e-6, 1 / 5e9};
  EXPECT_LT(Skipped(spinning, 200 << 10, hours), 0.05);
  EXPECT_GT(Skipped(spinning, 4 << 20, hours), 0.9);
  EXPECT_LT(Skipped(solid, 64 << 10, hours), 0.05);
  EXPECT_GT(Skipped(solid, 400 << 10, hours), 0.9);
  EXPECT_GT(Skipped(memory, 64 << 10, hours), 0.9);
  EXPECT_EQ(Skipped(memory, 1 << 10, hours), 0);  // small blocks are never skipped
}

class CountedBytes : public ByteSource {
 public:
  explicit CountedBytes(std::int64_t size) : size_(size) {}
  std::int64_t size() const override { return size_; }
  std::size_t ReadAt(std::int64_t at, std::span<std::uint8_t> into) override {
    std::size_t count = 0;
    for (; count < into.size() && at + static_cast<std::int64_t>(count) < size_; ++count) {
      into[count] = At(at + static_cast<std::int64_t>(count));
    }
    return count;
  }
  static std::uint8_t At(std::int64_t at) { return static_cast<std::uint8_t>(at * 7 + at / 251); }

 private:
  std::int64_t size_;
};

TEST(ForwardBytes, GivesWhatStandsThereWhereverOneLooks) {
  CountedBytes source(5 * kMiB + 123);
  ForwardBytes bytes(source);
  std::int64_t at = 0;
  for (std::int64_t step = 1; at < source.size(); step = step * 3 % 100'003 + 1) {
    const auto look = bytes.At(at, 32);
    const auto left = static_cast<std::size_t>(source.size() - at);
    ASSERT_GE(look.size(), std::min<std::size_t>(32, left)) << at;
    for (std::int64_t i = 0; i < std::min<std::int64_t>(32, source.size() - at); ++i) {
      ASSERT_EQ(look[static_cast<std::size_t>(i)], CountedBytes::At(at + i)) << at;
    }
    at += step % 11 == 0 ? -std::min<std::int64_t>(at, 40) + 41 : step;
  }
  EXPECT_TRUE(bytes.At(source.size() + 5, 32).empty());
  EXPECT_EQ(bytes.At(kMiB, 4)[0], CountedBytes::At(kMiB));  // back again
  EXPECT_FALSE(bytes.failed());
}

class BrokenBytes : public CountedBytes {
 public:
  using CountedBytes::CountedBytes;
  std::size_t ReadAt(std::int64_t at, std::span<std::uint8_t> into) override {
    return at >= kMiB ? 0 : CountedBytes::ReadAt(at, into);
  }
};

TEST(ForwardBytes, APlaceThatCannotBeReadIsTold) {
  BrokenBytes source(4 * kMiB);
  ForwardBytes bytes(source);
  EXPECT_EQ(bytes.At(0, 4).size(), static_cast<std::size_t>(kMiB));
  EXPECT_TRUE(bytes.At(2 * kMiB, 4).empty());
  EXPECT_TRUE(bytes.failed());
}

}  // namespace
}  // namespace probes
