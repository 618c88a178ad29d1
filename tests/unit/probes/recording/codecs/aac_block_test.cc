// SPDX-License-Identifier: Apache-2.0
//
// Bytes written by hand after ISO/IEC 14496-3: AudioSpecificConfig (1.6.2.1), ADTS (1.A.2.2).

#include "probes/recording/codecs/aac_block.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

#include <gtest/gtest.h>

namespace probes {
namespace {

using Bytes = std::vector<std::uint8_t>;

/// A frame of `length` bytes with `more` blocks beside the first.
Bytes Frame(std::size_t length, std::uint8_t more = 0) {
  Bytes frame(length, 0x55);
  const Bytes head = {0xff,
                      0xf1,
                      0x4c,
                      static_cast<std::uint8_t>(0x80 | length >> 11),
                      static_cast<std::uint8_t>(length >> 3 & 0xff),
                      static_cast<std::uint8_t>((length & 7) << 5 | 0x1f),
                      static_cast<std::uint8_t>(0xfc | more)};
  std::copy(head.begin(), head.end(), frame.begin());
  return frame;
}

Bytes Joined(const std::vector<Bytes>& parts) {
  Bytes all;
  for (const Bytes& part : parts) {
    all.insert(all.end(), part.begin(), part.end());
  }
  return all;
}

TEST(AacBlock, SecondsByConfiguration) {
  EXPECT_DOUBLE_EQ(AacBlockSeconds(BitReader({0x11, 0x90})), 1024.0 / 48000);        // AAC LC
  EXPECT_DOUBLE_EQ(AacBlockSeconds(BitReader({0x12, 0x10})), 1024.0 / 44100);        // AAC LC
  EXPECT_DOUBLE_EQ(AacBlockSeconds(BitReader({0x2b, 0x11, 0x88})), 1024.0 / 24000);  // with SBR
  EXPECT_DOUBLE_EQ(AacBlockSeconds(BitReader({0x11, 0x94})), 960.0 / 48000);
  EXPECT_DOUBLE_EQ(AacBlockSeconds(BitReader({})), 0.0);
}

TEST(AacBlock, WholeFramesAreCounted) {
  EXPECT_EQ(AdtsBlocks(Frame(300)), 1);
  EXPECT_EQ(AdtsBlocks(Joined({Frame(300), Frame(7), Frame(2100)})), 3);
  EXPECT_EQ(AdtsBlocks(Joined({Frame(300, 3), Frame(200)})), 5);
}

TEST(AacBlock, WhatIsNotWholeCountsAsNone) {
  const Bytes two = Joined({Frame(300), Frame(200)});
  for (std::size_t size = 0; size < two.size(); ++size) {
    const Bytes cut(two.begin(), two.begin() + static_cast<std::ptrdiff_t>(size));
    EXPECT_EQ(AdtsBlocks(cut), size == 300 ? 1 : 0) << size;
  }
  EXPECT_EQ(AdtsBlocks(Joined({Frame(300), {0xff}})), 0);
  Bytes shorter_than_its_head = Frame(300);
  shorter_than_its_head[3] = 0x80;
  shorter_than_its_head[4] = 0;
  shorter_than_its_head[5] = 0x1f;
  EXPECT_EQ(AdtsBlocks(shorter_than_its_head), 0);
  EXPECT_EQ(AdtsBlocks(Bytes(500, 0)), 0);
}

}  // namespace
}  // namespace probes
