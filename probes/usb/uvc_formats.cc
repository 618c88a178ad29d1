// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/uvc_formats.h"

#include <algorithm>
#include <array>
#include <iterator>

#include <fmt/format.h>

namespace probes {
namespace {

// subtype, frames, kind, pixel format, least bytes, GUID, bits, frame count, interlace flags
constexpr auto kFormats = std::to_array<UvcFormatLayout>({
    {0x04, 0x05, "uncompressed", "", 22, 5, 21, 4, 25},
    {0x06, 0x07, "mjpeg", "mjpeg", 4, 0, 0, 4, 9},
    {0x0a, 0, "mpeg2-ts", "", 4, 0, 0, 0, 0},
    {0x0c, 0, "dv", "", 4, 0, 0, 0, 0},
    {0x10, 0x11, "frame based", "", 22, 5, 0, 4, 25},
    {0x12, 0, "stream based", "", 20, 4, 0, 0, 0},
    {0x13, 0x14, "h264", "h264", 5, 0, 0, 4, 0},
    {0x15, 0x14, "h264 simulcast", "h264", 5, 0, 0, 4, 0},
    {0x16, 0x17, "vp8", "vp8", 5, 0, 0, 4, 0},
    {0x18, 0x17, "vp8 simulcast", "vp8", 5, 0, 0, 4, 0},
});

// subtype, width, least and most bit rate, frame bytes, default interval, count, intervals
constexpr auto kFrames = std::to_array<UvcFrameLayout>({
    {0x05, 5, 9, 13, 17, 21, 25, 26},
    {0x07, 5, 9, 13, 17, 21, 25, 26},
    {0x11, 5, 9, 13, 0, 17, 21, 26},
    {0x14, 4, 31, 35, 0, 39, 43, 44},
    {0x17, 4, 18, 22, 0, 26, 30, 31},
});

struct KnownFormat {
  std::string_view fourcc;
  std::string_view name;
  int bits_per_pixel;  // 0 = compressed
};

// Left: as in the GUID; right: the name of a profile, else of FFmpeg's pixel formats and codecs.
constexpr auto kKnownFormats = std::to_array<KnownFormat>({
    {"YUY2", "yuyv422", 16},  {"YUYV", "yuyv422", 16},  {"UYVY", "uyvy422", 16},
    {"HDYC", "uyvy422", 16},  {"YVYU", "yvyu422", 16},  {"NV12", "nv12", 12},
    {"NV21", "nv21", 12},     {"NV16", "nv16", 16},     {"NV24", "nv24", 24},
    {"I420", "yuv420p", 12},  {"IYUV", "yuv420p", 12},  {"YV12", "yv12", 12},
    {"Y800", "gray", 8},      {"Y8  ", "gray", 8},      {"GREY", "gray", 8},
    {"Y10 ", "gray10le", 16}, {"Y12 ", "gray12le", 16}, {"Y16 ", "gray16le", 16},
    {"P010", "p010", 24},     {"P210", "p210le", 32},   {"Y210", "y210le", 32},
    {"v210", "v210", 0},      {"RGBP", "rgb565le", 16}, {"BGR3", "bgr24", 24},
    {"RGB3", "rgb24", 24},    {"MJPG", "mjpeg", 0},     {"H264", "h264", 0},
    {"H265", "hevc", 0},      {"HEVC", "hevc", 0},      {"VP80", "vp8", 0},
});

// The twelve bytes after the four characters in most format GUIDs (RFC 2361 names the scheme).
constexpr auto kFourccTail = std::to_array<std::uint8_t>(
    {0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xaa, 0x00, 0x38, 0x9b, 0x71});
// MEDIASUBTYPE_RGB24, e436eb7d-524f-11ce-9f53-0020af0ba770: stored blue first.
constexpr auto kRgb24Guid =
    std::to_array<std::uint8_t>({0x7d, 0xeb, 0x36, 0xe4, 0x4f, 0x52, 0xce, 0x11, 0x9f, 0x53, 0x00,
                                 0x20, 0xaf, 0x0b, 0xa7, 0x70});

// UVC 1.5, table 3-19 (colour matching descriptor).
constexpr auto kPrimaries = std::to_array<std::string_view>(
    {"unspecified", "BT.709", "BT.470-2 M", "BT.470-2 B/G", "SMPTE 170M", "SMPTE 240M"});
constexpr auto kTransfers =
    std::to_array<std::string_view>({"unspecified", "BT.709", "BT.470-2 M", "BT.470-2 B/G",
                                     "SMPTE 170M", "SMPTE 240M", "linear", "sRGB"});
constexpr auto kMatrices = std::to_array<std::string_view>(
    {"unspecified", "BT.709", "FCC", "BT.470-2 B/G", "BT.601", "SMPTE 240M"});

const KnownFormat* FindFormat(std::string_view fourcc) {
  const auto* found = std::find_if(kKnownFormats.begin(), kKnownFormats.end(),
                                   [&](const KnownFormat& f) { return f.fourcc == fourcc; });
  return found == kKnownFormats.end() ? nullptr : found;
}

/// The four characters of a GUID that is made of them; empty for others.
std::string Fourcc(Bytes guid) {
  if (guid.size() != 16 || !std::ranges::equal(guid.subspan(4), kFourccTail)) {
    return {};
  }
  const bool text = std::all_of(guid.begin(), guid.begin() + 4,
                                [](std::uint8_t c) { return c >= 0x20 && c < 0x7f; });
  return text ? std::string(guid.begin(), guid.begin() + 4) : std::string();
}

template <std::size_t N>
std::string_view NameOf(const std::array<std::string_view, N>& names, std::size_t value) {
  return value < names.size() ? names[value] : std::string_view("reserved");
}

}  // namespace

const UvcFormatLayout* FindUvcFormat(int subtype) {
  const auto* found = std::ranges::find(kFormats, subtype, &UvcFormatLayout::subtype);
  return found == kFormats.end() ? nullptr : found;
}

const UvcFrameLayout* FindUvcFrame(int subtype) {
  const auto* found = std::ranges::find(kFrames, subtype, &UvcFrameLayout::subtype);
  return found == kFrames.end() ? nullptr : found;
}

std::string UvcPixelFormat(Bytes guid) {
  const std::string fourcc = Fourcc(guid);
  if (!fourcc.empty()) {
    const KnownFormat* known = FindFormat(fourcc);
    std::string name(known != nullptr ? known->name : std::string_view(fourcc));
    for (char& c : name) {
      c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    }
    return name;
  }
  return std::ranges::equal(guid, kRgb24Guid) ? "bgr24" : GuidText(guid);
}

int UvcBitsPerPixel(Bytes guid, int written) {
  const KnownFormat* known = FindFormat(Fourcc(guid));
  return known != nullptr ? known->bits_per_pixel : written;
}

std::string UvcColour(Bytes descriptor) {
  return fmt::format("{} / {} / {}", NameOf(kPrimaries, Le8(descriptor, 3)),
                     NameOf(kTransfers, Le8(descriptor, 4)), NameOf(kMatrices, Le8(descriptor, 5)));
}

}  // namespace probes
