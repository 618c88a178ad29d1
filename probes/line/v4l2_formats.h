// SPDX-License-Identifier: Apache-2.0
//
// The four characters by which V4L2 drivers name picture formats, and our names for them.

#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace probes {

/// The code that a driver uses: first character in the lowest byte (videodev2.h, v4l2_fourcc).
constexpr std::uint32_t FourccCode(std::string_view characters) {
  std::uint32_t code = 0;
  for (std::size_t i = 4; i-- > 0;) {
    code = code << 8U | static_cast<std::uint8_t>(i < characters.size() ? characters[i] : ' ');
  }
  return code;
}

/// "yuyv422" and the like; for a format without a name of ours its four
/// characters, made safe to show.
std::string PixelFormatOfFourcc(std::uint32_t code);

/// Codes that mean the format, best first; empty for an unknown name.
std::vector<std::uint32_t> FourccsOfPixelFormat(std::string_view pixel_format);

/// Bytes that a whole picture has at least: all of an uncompressed one (without
/// padding), one byte of a compressed or unknown one.
std::int64_t LeastPictureBytes(std::string_view pixel_format, int width, int height);

}  // namespace probes
