// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/codecs/aac_block.h"

#include <array>
#include <cstdint>

namespace probes {

double AacBlockSeconds(BitReader bits) {
  constexpr std::array<int, 13> kRates = {96000, 88200, 64000, 48000, 44100, 32000, 24000,
                                          22050, 16000, 12000, 11025, 8000,  7350};
  constexpr unsigned kSbr = 5;
  constexpr unsigned kParametricStereo = 29;
  constexpr unsigned kLowDelay = 23;
  constexpr unsigned kEnhancedLowDelay = 39;
  const auto object = [&bits] {
    const std::uint32_t type = bits.Next(5);
    return type == 31 ? 32 + bits.Next(6) : type;
  };
  const auto rate = [&bits, &kRates] {
    const unsigned index = bits.Next(4);
    return index == 15 ? static_cast<int>(bits.Next(24))
                       : (index < kRates.size() ? kRates[index] : 0);
  };
  unsigned type = object();
  const int core = rate();
  bits.Next(4);  // channels
  if (type == kSbr || type == kParametricStereo) {
    rate();
    type = object();
  }
  const bool shorter = bits.Next(1) == 1;
  const bool low_delay = type == kLowDelay || type == kEnhancedLowDelay;
  const int samples = low_delay ? (shorter ? 480 : 512) : (shorter ? 960 : 1024);
  return core > 0 && !bits.over() ? static_cast<double>(samples) / core : 0;
}

std::int64_t AdtsBlocks(std::span<const std::uint8_t> bytes) {
  constexpr std::size_t kHeadBytes = 7;
  std::int64_t blocks = 0;
  while (bytes.size() >= kHeadBytes && bytes[0] == 0xff && (bytes[1] & 0xf6) == 0xf0) {
    const int told = (bytes[3] & 3) << 11 | bytes[4] << 3 | bytes[5] >> 5;
    const auto length = static_cast<std::size_t>(told);
    if (length < kHeadBytes || length > bytes.size()) {
      break;
    }
    blocks += 1 + (bytes[6] & 3);
    bytes = bytes.subspan(length);
  }
  return bytes.empty() ? blocks : 0;
}

}  // namespace probes
