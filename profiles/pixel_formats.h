// SPDX-License-Identifier: Apache-2.0
//
// The pixel formats that capture devices hand over, and how many bytes a frame of each takes.

#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "profiles/profile.h"

namespace profiles {

/// How lines lie in memory. `kV210Blocks`: 48 pixels in 128 bytes, the last block padded.
enum class LineRule { kPacked, kV210Blocks };

/// One capture format. Compressed formats have no exact size: their
/// `bits_per_pixel_x10` is an assumption (see pixel_formats.cc).
struct PixelFormat {
  std::string_view name;       // as profiles write it
  int bits_per_pixel_x10 = 0;  // tenths of a bit, averaged over all planes
  LineRule line_rule = LineRule::kPacked;
  bool compressed = false;
  int width_step = 1;  // width must be a multiple: chroma shared by neighbours
  int height_step = 1;
  std::string_view ffmpeg_name;  // pixel format, or codec where ffmpeg_is_codec
  bool ffmpeg_is_codec = false;
};

std::span<const PixelFormat> PixelFormats();
std::vector<std::string> PixelFormatNames();

/// Other names that profiles may write: "i420", "grey".
std::vector<std::string> PixelFormatAliases();

/// Whether its pictures come in packets that a decoder opens: from the network, or in a form that
/// FFmpeg has a codec for.
bool ComesInPackets(const Source& source);

/// By profile name, or by an alias; nullptr when unknown.
const PixelFormat* FindPixelFormat(std::string_view name);

/// Bytes of one line of packed formats, or of all planes' share of it; bytes of a v210 line.
std::int64_t LineBytes(const PixelFormat& format, int width);

/// Bytes of one frame, without padding between lines except v210's. For
/// compressed formats the assumed average.
std::int64_t FrameBytes(const PixelFormat& format, const Raster& raster);

}  // namespace profiles
