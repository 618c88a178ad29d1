// SPDX-License-Identifier: Apache-2.0
//
// Where the fields of UVC format and frame descriptors lie, and what their values are called.

#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "probes/usb/descriptor_walk.h"

namespace probes {

/// One kind of format descriptor of a VideoStreaming interface. Offsets of 0: it has no such
/// field. UVC 1.5, table A-6 and the documents of each payload.
struct UvcFormatLayout {
  int subtype = 0;
  int frame_subtype = 0;          // of the frames that belong to it; 0 = none
  std::string_view kind;          // as VideoFormat has it
  std::string_view pixel_format;  // where the kind itself tells it
  std::size_t least_bytes = 0;
  std::size_t guid = 0;
  std::size_t bits_per_pixel = 0;
  std::size_t frame_count = 0;
  std::size_t interlace_flags = 0;
};

/// One kind of frame descriptor; the height stands two bytes behind the width.
struct UvcFrameLayout {
  int subtype = 0;
  std::size_t width = 0;
  std::size_t min_bit_rate = 0;
  std::size_t max_bit_rate = 0;
  std::size_t max_frame_bytes = 0;  // 0 = it has no such field
  std::size_t default_interval = 0;
  std::size_t interval_count = 0;
  std::size_t intervals = 0;  // the fixed part ends here
};

/// None when `subtype` is no format or no frame.
const UvcFormatLayout* FindUvcFormat(int subtype);
const UvcFrameLayout* FindUvcFrame(int subtype);

/// Our name of a format GUID (16 bytes as in the descriptor): "yuyv422"; else its
/// four characters in small letters; else the GUID as text.
std::string UvcPixelFormat(Bytes guid);

/// Bits of a pixel in memory of a format that we know; `written` where the GUID is another's.
/// 0 for what we know to be compressed.
int UvcBitsPerPixel(Bytes guid, int written);

/// Colour matching descriptor: "BT.709 / BT.709 / BT.601" (primaries, transfer, matrix).
std::string UvcColour(Bytes descriptor);

}  // namespace probes
