// SPDX-License-Identifier: Apache-2.0
//
// Sequence parameter sets written bit by bit (ITU-T H.264, 7.3.2.1.1 and E.1.1).

#include "probes/recording/codecs/h264_timing.h"

#include <cstdint>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace probes {
namespace {

class Writer {
 public:
  Writer& Put(std::uint32_t value, int bits) {
    for (int i = bits - 1; i >= 0; --i) {
      text_ += (value >> i & 1U) != 0 ? '1' : '0';
    }
    return *this;
  }
  Writer& Unsigned(std::uint32_t value) {
    int length = 0;
    while (((value + 1) >> (length + 1)) != 0) {
      ++length;
    }
    return Put(0, length).Put(value + 1, length + 1);
  }
  std::vector<std::uint8_t> Bytes() const {
    std::vector<std::uint8_t> bytes;
    for (std::size_t i = 0; i < text_.size(); i += 8) {
      std::uint8_t byte = 0;
      for (std::size_t bit = 0; bit < 8; ++bit) {
        byte = static_cast<std::uint8_t>(byte << 1 |
                                         (i + bit < text_.size() && text_[i + bit] == '1' ? 1 : 0));
      }
      bytes.push_back(byte);
    }
    return bytes;
  }

 private:
  std::string text_;
};

/// Baseline (66) or High (100), without or with timing.
std::vector<std::uint8_t> Set(std::uint32_t profile, std::uint32_t tick, std::uint32_t scale) {
  Writer bits;
  bits.Put(0x67, 8).Put(profile, 8).Put(0, 8).Put(30, 8).Unsigned(0);
  if (profile == 100) {
    bits.Unsigned(1).Unsigned(0).Unsigned(0).Put(0, 1).Put(0, 1);
  }
  bits.Unsigned(0).Unsigned(2).Unsigned(1).Put(0, 1).Unsigned(5).Unsigned(3).Put(1, 1).Put(1, 1);
  bits.Put(0, 1).Put(1, 1);                      // no cropping, a VUI
  bits.Put(0, 1).Put(0, 1).Put(0, 1).Put(0, 1);  // nothing before the timing
  bits.Put(scale > 0 ? 1 : 0, 1).Put(tick, 32).Put(scale, 32).Put(1, 1).Put(1, 1);
  return bits.Bytes();
}

/// With the bytes that keep start codes out.
std::vector<std::uint8_t> Escaped(const std::vector<std::uint8_t>& unit) {
  std::vector<std::uint8_t> out;
  int zeros = 0;
  for (const std::uint8_t byte : unit) {
    if (zeros >= 2 && byte <= 3) {
      out.push_back(3);
      zeros = 0;
    }
    zeros = byte == 0 ? zeros + 1 : 0;
    out.push_back(byte);
  }
  return out;
}

std::vector<std::uint8_t> Box(const std::vector<std::uint8_t>& unit) {
  std::vector<std::uint8_t> box = {1,
                                   100,
                                   0,
                                   30,
                                   0xff,
                                   0xe1,
                                   static_cast<std::uint8_t>(unit.size() >> 8),
                                   static_cast<std::uint8_t>(unit.size() & 255)};
  box.insert(box.end(), unit.begin(), unit.end());
  return box;
}

TEST(H264StatedRate, TwoTicksAFrame) {
  for (const std::uint32_t profile : {66U, 100U}) {
    EXPECT_EQ(H264StatedRate(Box(Escaped(Set(profile, 1, 120)))), base::Rational(60)) << profile;
    EXPECT_EQ(H264StatedRate(Box(Escaped(Set(profile, 1001, 60'000)))),
              base::Rational(30'000, 1001))
        << profile;
    EXPECT_FALSE(H264StatedRate(Box(Escaped(Set(profile, 0, 0))))) << profile;
    EXPECT_FALSE(H264StatedRate(Box(Escaped(Set(profile, 1, 180'000))))) << profile;
  }
}

TEST(H264StatedRate, BehindAStartCodeAndAnotherUnit) {
  std::vector<std::uint8_t> stream = {0, 0, 0, 1, 9, 0x10, 0, 0, 0, 1};
  const auto unit = Escaped(Set(66, 1, 50));
  stream.insert(stream.end(), unit.begin(), unit.end());
  stream.insert(stream.end(), {0, 0, 0, 1, 0x68, 0xce});
  EXPECT_EQ(H264StatedRate(stream), base::Rational(25));
}

TEST(H264StatedRate, TakesAnyBytes) {
  EXPECT_FALSE(H264StatedRate({}));
  const auto whole = Box(Escaped(Set(100, 1, 120)));
  for (std::size_t length = 0; length < whole.size(); ++length) {
    H264StatedRate(std::span(whole).first(length));
  }
  std::mt19937 dice(4);
  for (int i = 0; i < 20'000; ++i) {
    auto bytes = whole;
    for (int changes = 0; changes < 3; ++changes) {
      bytes[dice() % bytes.size()] = static_cast<std::uint8_t>(dice());
    }
    const auto rate = H264StatedRate(bytes);
    EXPECT_TRUE(!rate || base::ToDouble(*rate) <= 300);
  }
}

}  // namespace
}  // namespace probes
