// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/uvc_descriptors.h"

#include <algorithm>

#include <fmt/format.h>

namespace probes {
namespace {

constexpr int kVideoClass = 0x0e;
constexpr int kControlSubclass = 0x01;
constexpr int kStreamingSubclass = 0x02;

// VideoStreaming subtypes beside formats and frames: UVC 1.5, table A-6.
constexpr int kInputHeader = 0x01;
constexpr int kOutputHeader = 0x02;
constexpr int kStillImage = 0x03;
constexpr int kColour = 0x0d;

constexpr std::size_t kMostModes = 4096;  // a file of 64 KiB cannot honestly hold more

int ControlNumber(UvcControlReader& control) {
  return control.function().control_interface;
}

}  // namespace

void UvcReader::Note(const RawDescriptor& descriptor, std::string_view what) {
  if (fault_.empty()) {
    fault_ = fmt::format("the video {} at byte {}", what, descriptor.offset);
  }
}

void UvcReader::BeginInterface(const UsbInterface& interface) {
  open_ = Open::kNothing;
  open_format_ = nullptr;
  if (interface.interface_class != kVideoClass) {
    return;
  }
  if (interface.subclass == kControlSubclass) {
    if (std::ranges::find(controls_, interface.number, ControlNumber) == controls_.end()) {
      at_ = controls_.size();
      controls_.emplace_back(interface.number);
      open_ = Open::kControl;
    }
  } else if (interface.subclass == kStreamingSubclass) {
    const auto known = std::ranges::find(streams_, interface.number, [](const FoundStream& found) {
      return found.stream.interface;
    });
    at_ = static_cast<std::size_t>(known - streams_.begin());
    if (known == streams_.end()) {
      streams_.push_back({{}, controls_.size(), false});
      streams_.back().stream.interface = interface.number;
    }
    open_ = streams_[at_].taken ? Open::kNothing : Open::kStream;
  }
}

void UvcReader::Take(const RawDescriptor& descriptor) {
  if (open_ == Open::kControl) {
    const std::string what = controls_[at_].Take(descriptor.bytes);
    if (!what.empty()) {
      Note(descriptor, what);
    }
  } else if (open_ == Open::kStream) {
    streams_[at_].taken = true;
    TakeStreaming(descriptor);
  }
}

void UvcReader::TakeStreaming(const RawDescriptor& descriptor) {
  const int subtype = Le8(descriptor.bytes, 2);
  if (const UvcFormatLayout* format = FindUvcFormat(subtype)) {
    return TakeFormat(descriptor, *format);
  }
  if (const UvcFrameLayout* frame = FindUvcFrame(subtype)) {
    return TakeFrame(descriptor, *frame);
  }
  switch (subtype) {
    case kInputHeader:
    case kOutputHeader:
      return TakeHeader(descriptor, subtype == kInputHeader);
    case kStillImage:
      return TakeStillImage(descriptor.bytes);
    case kColour:
      if (VideoFormat* format = LastFormat(); format != nullptr && descriptor.bytes.size() >= 6) {
        format->colour = UvcColour(descriptor.bytes);
      }
      return;
    default:
      return;  // of a later version of the class
  }
}

VideoFormat* UvcReader::LastFormat() {
  auto& formats = streams_[at_].stream.formats;
  return formats.empty() ? nullptr : &formats.back();
}

void UvcReader::TakeHeader(const RawDescriptor& descriptor, bool input) {
  const Bytes bytes = descriptor.bytes;
  if (bytes.size() < (input ? 10U : 8U)) {
    return Note(descriptor, "stream's header is too short");
  }
  VideoStream& stream = streams_[at_].stream;
  stream.formats_claimed = Le8(bytes, 3);
  stream.endpoint = Le8(bytes, 6);
  stream.terminal = Le8(bytes, input ? 8 : 7);
  stream.still_method = input ? Le8(bytes, 9) : 0;
}

void UvcReader::TakeFormat(const RawDescriptor& descriptor, const UvcFormatLayout& layout) {
  const Bytes bytes = descriptor.bytes;
  open_format_ = nullptr;
  if (bytes.size() < layout.least_bytes) {
    return Note(descriptor, "format is too short to name its pixels");
  }
  VideoFormat format;
  format.index = Le8(bytes, 3);
  format.kind = layout.kind;
  format.pixel_format = layout.pixel_format;
  bits_per_pixel_ = 0;
  if (layout.guid != 0) {
    const Bytes guid = bytes.subspan(layout.guid, 16);
    format.pixel_format = UvcPixelFormat(guid);
    const int written = layout.bits_per_pixel == 0 ? 0 : Le8(bytes, layout.bits_per_pixel);
    bits_per_pixel_ = UvcBitsPerPixel(guid, written);
  }
  format.frames_claimed = layout.frame_count == 0 ? 0 : Le8(bytes, layout.frame_count);
  format.interlaced = layout.interlace_flags != 0 && (Le8(bytes, layout.interlace_flags) & 1U) != 0;
  pixel_format_ = format.pixel_format;
  open_format_ = &layout;
  streams_[at_].stream.formats.push_back(std::move(format));
}

void UvcReader::TakeFrame(const RawDescriptor& descriptor, const UvcFrameLayout& layout) {
  const Bytes bytes = descriptor.bytes;
  if (open_format_ == nullptr || open_format_->frame_subtype != layout.subtype) {
    return Note(descriptor, "frame belongs to no format");
  }
  if (bytes.size() < layout.intervals) {
    return Note(descriptor, "frame is too short");
  }
  CaptureMode mode;
  mode.pixel_format = pixel_format_;
  mode.width = Le16(bytes, layout.width);
  mode.height = Le16(bytes, layout.width + 2);
  mode.bits_per_pixel = bits_per_pixel_;
  if (mode.width == 0 || mode.height == 0) {
    return Note(descriptor, "frame has no raster");
  }
  if (modes_.size() >= kMostModes) {
    return Note(descriptor, "frame is one too many");
  }
  mode.streaming_interface = streams_[at_].stream.interface;
  mode.min_bits_per_second = Le32(bytes, layout.min_bit_rate);
  mode.max_bits_per_second = Le32(bytes, layout.max_bit_rate);
  mode.max_frame_bytes = layout.max_frame_bytes == 0 ? 0 : Le32(bytes, layout.max_frame_bytes);
  TakeIntervals(descriptor, layout, mode);
  ++LastFormat()->frames;
  modes_.push_back(std::move(mode));
}

void UvcReader::TakeIntervals(const RawDescriptor& descriptor, const UvcFrameLayout& layout,
                              CaptureMode& mode) {
  const Bytes bytes = descriptor.bytes;
  const std::size_t count = Le8(bytes, layout.interval_count);
  const std::size_t present = (bytes.size() - layout.intervals) / 4;
  if (present < (count == 0 ? 3 : count)) {
    Note(descriptor, "frame lacks some of the intervals that it counts");
  }
  // A count of 0 means a range: shortest, longest, step. The step is no interval.
  auto& intervals = mode.intervals_100ns;
  for (std::size_t i = 0; i < std::min(present, count == 0 ? std::size_t{2} : count); ++i) {
    intervals.push_back(Le32(bytes, layout.intervals + 4 * i));
  }
  std::erase(intervals, 0);
  if (intervals.empty() && Le32(bytes, layout.default_interval) != 0) {
    intervals.push_back(Le32(bytes, layout.default_interval));
  }
  std::ranges::sort(intervals);
  intervals.erase(std::unique(intervals.begin(), intervals.end()), intervals.end());
  if (count == 0 && intervals.size() == 2) {
    // A step of nothing would leave out all between the ends: then any interval goes.
    mode.interval_step_100ns = std::max<std::int64_t>(1, Le32(bytes, layout.intervals + 8));
  }
}

/// Sizes of still pictures stand behind the frames of the format that they belong to.
void UvcReader::TakeStillImage(Bytes bytes) {
  VideoFormat* format = LastFormat();
  if (format == nullptr) {
    return;
  }
  const std::size_t claimed = Le8(bytes, 4);
  for (std::size_t i = 0; i < claimed && 5 + 4 * i + 4 <= bytes.size(); ++i) {
    format->still_rasters.push_back(
        fmt::format("{}x{}", Le16(bytes, 5 + 4 * i), Le16(bytes, 7 + 4 * i)));
  }
}

UvcControlReader* UvcReader::ControlOf(const VideoStream& stream, std::size_t controls_before) {
  const auto lists = [&](const UvcControlReader& control) {
    return std::ranges::find(control.streaming_interfaces(), stream.interface) !=
           control.streaming_interfaces().end();
  };
  if (const auto found = std::ranges::find_if(controls_, lists); found != controls_.end()) {
    return &*found;
  }
  return controls_before == 0 ? nullptr : &controls_[controls_before - 1];
}

std::vector<VideoFunction> UvcReader::TakeFunctions() {
  VideoFunction stray;
  stray.control_interface = -1;
  for (FoundStream& found : streams_) {
    UvcControlReader* control = ControlOf(found.stream, found.controls_before);
    VideoFunction& function = control == nullptr ? stray : control->function();
    function.streams.push_back(std::move(found.stream));
  }
  std::vector<VideoFunction> functions;
  for (UvcControlReader& control : controls_) {
    functions.push_back(std::move(control.function()));
  }
  if (!stray.streams.empty()) {
    functions.push_back(std::move(stray));
  }
  return functions;
}

}  // namespace probes
