// SPDX-License-Identifier: Apache-2.0

#include "profiles/pixel_formats.h"

#include <algorithm>
#include <array>

namespace profiles {
namespace {

// Storage of the raw formats: Linux drivers/media/v4l2-core/v4l2-common.c
// (v4l2_format_info); v210: FFmpeg libavcodec/v210enc.c.
//
// MJPEG: a tenth of YUYV, the middle of the trade's range of 5:1 to 20:1
// (common practice). H.264 from a camera: 0.2 bit per pixel, about 12 Mb/s at
// 1080p30 (common practice); HEVC half of that, which is what it was made for
// (ISO/IEC 23008-2, introduction). All depend on the scene: demands made from
// them are marked as assumed.
//
// yv12 is yuv420p with its chroma planes the other way round, which costs nothing to tell apart:
// FFmpeg has no format of its own for it.
constexpr std::array kFormats{
    PixelFormat{"yuyv422", 160, LineRule::kPacked, false, 2, 1, "yuyv422", false},
    PixelFormat{"uyvy422", 160, LineRule::kPacked, false, 2, 1, "uyvy422", false},
    PixelFormat{"yvyu422", 160, LineRule::kPacked, false, 2, 1, "yvyu422", false},
    PixelFormat{"nv12", 120, LineRule::kPacked, false, 2, 2, "nv12", false},
    PixelFormat{"nv21", 120, LineRule::kPacked, false, 2, 2, "nv21", false},
    PixelFormat{"nv24", 240, LineRule::kPacked, false, 1, 1, "nv24", false},
    PixelFormat{"yuv420p", 120, LineRule::kPacked, false, 2, 2, "yuv420p", false},
    PixelFormat{"yv12", 120, LineRule::kPacked, false, 2, 2, "yuv420p", false},
    PixelFormat{"gray", 80, LineRule::kPacked, false, 1, 1, "gray", false},
    PixelFormat{"gray16le", 160, LineRule::kPacked, false, 1, 1, "gray16le", false},
    PixelFormat{"p010", 240, LineRule::kPacked, false, 2, 2, "p010le", false},
    PixelFormat{"p210le", 320, LineRule::kPacked, false, 2, 1, "p210le", false},
    PixelFormat{"rgb565le", 160, LineRule::kPacked, false, 1, 1, "rgb565le", false},
    PixelFormat{"rgb24", 240, LineRule::kPacked, false, 1, 1, "rgb24", false},
    PixelFormat{"bgr24", 240, LineRule::kPacked, false, 1, 1, "bgr24", false},
    PixelFormat{"bgra", 320, LineRule::kPacked, false, 1, 1, "bgra", false},
    PixelFormat{"v210", 0, LineRule::kV210Blocks, false, 2, 1, "v210", true},
    PixelFormat{"mjpeg", 16, LineRule::kPacked, true, 2, 2, "mjpeg", true},
    PixelFormat{"h264", 2, LineRule::kPacked, true, 2, 2, "h264", true},
    PixelFormat{"hevc", 1, LineRule::kPacked, true, 2, 2, "hevc", true},
};

struct Alias {
  std::string_view alias;
  std::string_view name;
};
// As devices' makers and the kernel write them.
constexpr auto kAliases = std::to_array<Alias>({{"i420", "yuv420p"}, {"grey", "gray"}});

constexpr int kV210BlockPixels = 48;
constexpr int kV210BlockBytes = 128;

}  // namespace

std::span<const PixelFormat> PixelFormats() {
  return kFormats;
}

std::vector<std::string> PixelFormatNames() {
  std::vector<std::string> names;
  names.reserve(kFormats.size());
  for (const PixelFormat& format : kFormats) {
    names.emplace_back(format.name);
  }
  return names;
}

const PixelFormat* FindPixelFormat(std::string_view name) {
  const auto* const alias = std::find_if(kAliases.begin(), kAliases.end(),
                                         [&](const Alias& each) { return each.alias == name; });
  const std::string_view wanted = alias == kAliases.end() ? name : alias->name;
  const auto* const found = std::find_if(kFormats.begin(), kFormats.end(),
                                         [&](const PixelFormat& f) { return f.name == wanted; });
  return found == kFormats.end() ? nullptr : found;
}

std::vector<std::string> PixelFormatAliases() {
  std::vector<std::string> aliases;
  for (const Alias& alias : kAliases) {
    aliases.emplace_back(alias.alias);
  }
  return aliases;
}

bool ComesInPackets(const Source& source) {
  const PixelFormat* const format = FindPixelFormat(source.pixel_format);
  return source.arrives_by == ArrivesBy::kNetwork || (format != nullptr && format->ffmpeg_is_codec);
}

std::int64_t LineBytes(const PixelFormat& format, int width) {
  if (format.line_rule == LineRule::kV210Blocks) {
    return (static_cast<std::int64_t>(width) + kV210BlockPixels - 1) / kV210BlockPixels *
           kV210BlockBytes;
  }
  return static_cast<std::int64_t>(width) * format.bits_per_pixel_x10 / 80;
}

std::int64_t FrameBytes(const PixelFormat& format, const Raster& raster) {
  if (format.line_rule == LineRule::kV210Blocks) {
    return LineBytes(format, raster.width) * raster.height;
  }
  return raster.Pixels() * format.bits_per_pixel_x10 / 80;
}

}  // namespace profiles
