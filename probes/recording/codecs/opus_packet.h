// SPDX-License-Identifier: Apache-2.0
//
// How much sound a packet of Opus carries (RFC 6716, 3.1 and 3.2).

#pragma once

#include <array>
#include <cstdint>

namespace probes {

/// From its first two bytes; the second counts where the first says so.
inline double OpusSeconds(std::uint8_t head, std::uint8_t count) {
  const unsigned config = head >> 3U;
  static constexpr std::array<double, 4> kSilk = {0.010, 0.020, 0.040, 0.060};
  static constexpr std::array<double, 4> kCelt = {0.0025, 0.005, 0.010, 0.020};
  const double frame_s = config < 12   ? kSilk[config % 4]
                         : config < 16 ? kSilk[config % 2]  // hybrid
                                       : kCelt[config % 4];
  const int code = head & 3;
  const int frames = code == 0 ? 1 : code < 3 ? 2 : count & 63;
  return frame_s * frames;
}

}  // namespace probes
