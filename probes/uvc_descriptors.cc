#include "probes/uvc_descriptors.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

#include <fmt/format.h>

namespace probes {
namespace {

// VideoStreaming subtypes: USB Device Class Definition for Video Devices 1.5, table A-6.
constexpr int kFormatUncompressed = 0x04;
constexpr int kFrameUncompressed = 0x05;
constexpr int kFormatMjpeg = 0x06;
constexpr int kFrameMjpeg = 0x07;
constexpr int kFormatFrameBased = 0x10;
constexpr int kFrameFrameBased = 0x11;

constexpr std::size_t kMostModes = 4096;  // a file of 64 KiB cannot honestly hold more

struct KnownFormat {
  std::string_view fourcc;
  std::string_view name;
  int bits_per_pixel;  // 0 = compressed
};

// Left: as in the GUID; right: names and bits of FFmpeg's pixel formats and codecs.
constexpr auto kKnownFormats = std::to_array<KnownFormat>({
    {"YUY2", "yuyv422", 16},  {"YUYV", "yuyv422", 16},  {"UYVY", "uyvy422", 16},
    {"HDYC", "uyvy422", 16},  {"YVYU", "yvyu422", 16},  {"NV12", "nv12", 12},
    {"NV21", "nv21", 12},     {"NV16", "nv16", 16},     {"NV24", "nv24", 24},
    {"I420", "yuv420p", 12},  {"IYUV", "yuv420p", 12},  {"YV12", "yv12", 12},
    {"Y800", "gray", 8},      {"Y8  ", "gray", 8},      {"GREY", "gray", 8},
    {"Y10 ", "gray10le", 16}, {"Y12 ", "gray12le", 16}, {"Y16 ", "gray16le", 16},
    {"P010", "p010le", 24},   {"P210", "p210le", 32},   {"Y210", "y210le", 32},
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

int FrameOf(int format) {
  switch (format) {
    case kFormatUncompressed:
      return kFrameUncompressed;
    case kFormatMjpeg:
      return kFrameMjpeg;
    case kFormatFrameBased:
      return kFrameFrameBased;
    default:
      return 0;
  }
}

/// Where a frame descriptor holds the count of its intervals; they follow at 26 in both.
constexpr std::size_t CountOffset(int frame) {
  return frame == kFrameFrameBased ? 21 : 25;
}
constexpr std::size_t DefaultOffset(int frame) {
  return frame == kFrameFrameBased ? 17 : 21;
}
constexpr std::size_t kIntervalsOffset = 26;

}  // namespace

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
  if (std::ranges::equal(guid, kRgb24Guid)) {
    return "bgr24";
  }
  return fmt::format("{:08x}-{:04x}-{:04x}-{:02x}{:02x}-{:02x}{:02x}{:02x}{:02x}{:02x}{:02x}",
                     Le32(guid, 0), Le16(guid, 4), Le16(guid, 6), Le8(guid, 8), Le8(guid, 9),
                     Le8(guid, 10), Le8(guid, 11), Le8(guid, 12), Le8(guid, 13), Le8(guid, 14),
                     Le8(guid, 15));
}

void UvcModeReader::Note(const RawDescriptor& descriptor, std::string_view what) {
  if (fault_.empty()) {
    fault_ = fmt::format("the video {} at byte {}", what, descriptor.offset);
  }
}

void UvcModeReader::Take(const RawDescriptor& descriptor) {
  switch (const int subtype = Le8(descriptor.bytes, 2)) {
    case kFormatUncompressed:
    case kFormatMjpeg:
    case kFormatFrameBased:
      TakeFormat(descriptor, subtype);
      break;
    case kFrameUncompressed:
    case kFrameMjpeg:
    case kFrameFrameBased:
      TakeFrame(descriptor, subtype);
      break;
    default:
      break;  // headers, still images, colour matching, payloads without frames we know
  }
}

void UvcModeReader::TakeFormat(const RawDescriptor& descriptor, int subtype) {
  open_format_ = 0;
  if (subtype == kFormatMjpeg) {
    pixel_format_ = "mjpeg";
    bits_per_pixel_ = 0;
    open_format_ = subtype;
    return;
  }
  if (descriptor.bytes.size() < 22) {
    Note(descriptor, "format is too short to name its pixels");
    return;
  }
  const Bytes guid = descriptor.bytes.subspan(5, 16);
  pixel_format_ = UvcPixelFormat(guid);
  const KnownFormat* known = FindFormat(Fourcc(guid));
  if (known != nullptr) {
    bits_per_pixel_ = known->bits_per_pixel;
  } else {
    bits_per_pixel_ = subtype == kFormatUncompressed ? Le8(descriptor.bytes, 21) : 0;
  }
  open_format_ = subtype;
}

void UvcModeReader::TakeFrame(const RawDescriptor& descriptor, int subtype) {
  const Bytes bytes = descriptor.bytes;
  if (open_format_ == 0 || subtype != FrameOf(open_format_)) {
    Note(descriptor, "frame belongs to no format");
    return;
  }
  if (bytes.size() < kIntervalsOffset) {
    Note(descriptor, "frame is too short");
    return;
  }
  CaptureMode mode;
  mode.pixel_format = pixel_format_;
  mode.width = Le16(bytes, 5);
  mode.height = Le16(bytes, 7);
  mode.bits_per_pixel = bits_per_pixel_;
  if (mode.width == 0 || mode.height == 0 || modes_.size() >= kMostModes) {
    Note(descriptor, "frame has no raster");
    return;
  }
  const std::size_t count = Le8(bytes, CountOffset(subtype));
  const std::size_t present = (bytes.size() - kIntervalsOffset) / 4;
  if (present < (count == 0 ? 3 : count)) {
    Note(descriptor, "frame lacks some of the intervals that it counts");
  }
  // A count of 0 means a range: shortest, longest, step. The step is no interval.
  for (std::size_t i = 0; i < std::min(present, count == 0 ? std::size_t{2} : count); ++i) {
    mode.intervals_100ns.push_back(Le32(bytes, kIntervalsOffset + 4 * i));
  }
  std::erase(mode.intervals_100ns, 0);
  if (mode.intervals_100ns.empty() && Le32(bytes, DefaultOffset(subtype)) != 0) {
    mode.intervals_100ns.push_back(Le32(bytes, DefaultOffset(subtype)));
  }
  std::ranges::sort(mode.intervals_100ns);
  mode.intervals_100ns.erase(std::unique(mode.intervals_100ns.begin(), mode.intervals_100ns.end()),
                             mode.intervals_100ns.end());
  modes_.push_back(std::move(mode));
}

}  // namespace probes
