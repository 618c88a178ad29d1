// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_formats.h"

#include <algorithm>
#include <array>

#include "base/text.h"

namespace probes {
namespace {

struct Known {
  std::string_view fourcc;
  std::string_view name;
  int bits_per_pixel;  // 0: compressed, or lines of their own kind
};

// include/uapi/linux/videodev2.h of the Linux kernel (6.1); bits: v4l2-common.c, v4l2_format_info.
// Of formats with one name the one that capture devices hand over most stands first.
constexpr auto kKnown = std::to_array<Known>({
    {"YUYV", "yuyv422", 16}, {"UYVY", "uyvy422", 16},  {"HDYC", "uyvy422", 16},
    {"YVYU", "yvyu422", 16}, {"NV12", "nv12", 12},     {"NM12", "nv12", 12},
    {"NV21", "nv21", 12},    {"NV16", "nv16", 16},     {"NV24", "nv24", 24},
    {"YU12", "yuv420p", 12}, {"YM12", "yuv420p", 12},  {"YV12", "yv12", 12},
    {"GREY", "gray", 8},     {"Y16 ", "gray16le", 16}, {"RGBP", "rgb565le", 16},
    {"P010", "p010", 24},    {"BGR3", "bgr24", 24},    {"RGB3", "rgb24", 24},
    {"AR24", "bgra", 32},    {"XR24", "bgra", 32},     {"BGR4", "bgra", 32},
    {"v210", "v210", 0},     {"V210", "v210", 0},      {"MJPG", "mjpeg", 0},
    {"JPEG", "mjpeg", 0},    {"H264", "h264", 0},      {"HEVC", "hevc", 0},
    {"VP80", "vp8", 0},
});

}  // namespace

std::string PixelFormatOfFourcc(std::uint32_t code) {
  std::string characters;
  for (unsigned shift = 0; shift < 32; shift += 8) {
    // Bit 31 marks big-endian formats and is no part of the character.
    const std::uint32_t byte = code >> shift & (shift == 24 ? 0x7fU : 0xffU);
    characters.push_back(static_cast<char>(byte));
  }
  const auto* const known = std::find_if(
      kKnown.begin(), kKnown.end(), [&](const Known& each) { return each.fourcc == characters; });
  return known != kKnown.end() ? std::string(known->name) : base::Printable(characters, 40);
}

std::vector<std::uint32_t> FourccsOfPixelFormat(std::string_view pixel_format) {
  std::vector<std::uint32_t> codes;
  for (const Known& known : kKnown) {
    if (known.name == (pixel_format)) {
      codes.push_back(FourccCode(known.fourcc));
    }
  }
  return codes;
}

std::int64_t LeastPictureBytes(std::string_view pixel_format, int width, int height) {
  const auto* const known = std::find_if(
      kKnown.begin(), kKnown.end(), [&](const Known& each) { return each.name == pixel_format; });
  const std::int64_t bits = known == kKnown.end() ? 0 : known->bits_per_pixel;
  return std::max<std::int64_t>(1, static_cast<std::int64_t>(width) * height * bits / 8);
}

}  // namespace probes
