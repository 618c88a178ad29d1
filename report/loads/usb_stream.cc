// SPDX-License-Identifier: Apache-2.0
//
// Modes to payloads to alternate settings, as uvcvideo goes (drivers/media/usb/uvc/uvc_video.c).

#include "report/loads/usb_stream.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/pixel_formats.h"
#include "report/loads/assumed_demand.h"

namespace report {
namespace {

constexpr int kVideoClass = 0x0e;
constexpr int kVideoStreaming = 2;
constexpr int kAnyInterface = -1;
// What uvcvideo assumes of the header before each payload (uvc_video.c, FIX_BANDWIDTH).
constexpr std::int64_t kPayloadHeaderBytes = 12;
constexpr double kUnitsPerSecond = 1e7;  // intervals come in 100 ns

bool Streams(const probes::UsbInterface& interface, int number) {
  return interface.interface_class == kVideoClass && interface.subclass == kVideoStreaming &&
         (number == kAnyInterface || interface.number == number);
}

/// A mode and the interval at which it runs.
struct Running {
  const probes::CaptureMode* mode = nullptr;  // null: not listed
  double rate = 0;                            // frames a second
};

// A picture without compression takes what raster and format take, whatever the device says:
// dwMaxVideoFrameBufferSize is wrong on many (uvc_driver.c, uvc_parse_format, which does the same).
std::optional<double> RawFrame(const probes::CaptureMode& mode) {
  const profiles::PixelFormat* format = profiles::FindPixelFormat(mode.pixel_format);
  if (mode.width <= 0 || mode.height <= 0) {
    return std::nullopt;
  }
  if (format != nullptr && !format->compressed) {
    return static_cast<double>(profiles::FrameBytes(*format, {mode.width, mode.height}));
  }
  if (format == nullptr && mode.bits_per_pixel > 0) {
    return static_cast<double>(mode.width) * mode.height * mode.bits_per_pixel / 8;
  }
  return std::nullopt;
}

// Of one picture at most; of a compressed one what the device says.
double LargestFrame(const probes::CaptureMode& mode) {
  return RawFrame(mode).value_or(std::max(0.0, static_cast<double>(mode.max_frame_bytes)));
}

// Of one picture as it comes: compressed formats by the profile's assumption.
double UsualFrame(const probes::CaptureMode& mode) {
  const profiles::PixelFormat* format = profiles::FindPixelFormat(mode.pixel_format);
  if (format == nullptr || !format->compressed || mode.width <= 0 || mode.height <= 0) {
    return LargestFrame(mode);
  }
  return static_cast<double>(profiles::FrameBytes(*format, {mode.width, mode.height}));
}

Running ModeAsked(const probes::UsbDevice& device, const profiles::Source& source) {
  const double asked = base::ToDouble(source.rate);
  Running best;
  for (const probes::CaptureMode& mode : device.modes) {
    const bool same = mode.pixel_format == source.pixel_format &&
                      mode.width == source.raster.width && mode.height == source.raster.height;
    const std::optional<double> rate = same ? RateOffered(mode, asked) : std::nullopt;
    if (rate && (best.mode == nullptr || *rate < best.rate)) {
      best = {&mode, *rate};
    }
  }
  return best;
}

Running HeaviestMode(const probes::UsbDevice& device) {
  Running best;
  double most = 0;
  for (const probes::CaptureMode& mode : device.modes) {
    if (mode.intervals_100ns.empty() || mode.intervals_100ns.front() <= 0) {
      continue;
    }
    const double rate = kUnitsPerSecond / static_cast<double>(mode.intervals_100ns.front());
    const double bytes = UsualFrame(mode) * rate;
    if (bytes > most) {
      most = bytes;
      best = {&mode, rate};
    }
  }
  return best;
}

std::int64_t PayloadBytes(double bytes_per_second, double intervals_per_second) {
  constexpr double kMost = 1e12;  // strangers' figures may be any
  const double bytes = std::clamp(std::ceil(bytes_per_second / intervals_per_second), 0.0, kMost);
  return static_cast<std::int64_t>(bytes) + kPayloadHeaderBytes;
}

/// Borrows the device's entries.
struct AlternateSetting {
  const probes::UsbInterface* interface = nullptr;
  const probes::UsbEndpoint* endpoint = nullptr;
};

// All isochronous settings of the video streaming interface `number`.
template <typename Visit>
void EachSetting(const probes::UsbDevice& device, int number, Visit visit) {
  for (const probes::UsbInterface& interface : device.interfaces) {
    if (!Streams(interface, number)) {
      continue;
    }
    for (const probes::UsbEndpoint& endpoint : interface.endpoints) {
      if (endpoint.type == probes::TransferType::kIsochronous && endpoint.bytes_per_interval > 0) {
        visit(AlternateSetting{&interface, &endpoint});
      }
    }
  }
}

// The smallest that holds `payload_bytes` in an interval (uvcvideo's choice, uvc_video.c); nothing
// when none does.
std::optional<AlternateSetting> ChooseSetting(const probes::UsbDevice& device, int interface,
                                              std::int64_t payload_bytes) {
  std::optional<AlternateSetting> best;
  EachSetting(device, interface, [&](const AlternateSetting& setting) {
    const std::int64_t bytes = setting.endpoint->bytes_per_interval;
    if (bytes >= payload_bytes && (!best || bytes < best->endpoint->bytes_per_interval)) {
      best = setting;
    }
  });
  return best;
}

// The one that holds most; nothing when there is no isochronous endpoint.
std::optional<AlternateSetting> LargestSetting(const probes::UsbDevice& device, int interface) {
  std::optional<AlternateSetting> best;
  EachSetting(device, interface, [&](const AlternateSetting& setting) {
    if (!best || setting.endpoint->bytes_per_interval > best->endpoint->bytes_per_interval) {
      best = setting;
    }
  });
  return best;
}

PeriodicTransfer TransferOf(const probes::UsbDevice& device, const AlternateSetting& setting) {
  return {device.speed_mbps, setting.endpoint->bytes_per_interval,
          setting.endpoint->max_packet_bytes, IntervalPeriod(*setting.endpoint, device.speed_mbps)};
}

// Nothing told of alternate settings: what is needed, in whole packets.
PeriodicTransfer WithoutSettings(double speed_mbps, std::int64_t payload_bytes) {
  constexpr std::int64_t kPacket = 1024;
  constexpr std::int64_t kSlowPacket = 1023;
  if (speed_mbps < 480) {
    return {speed_mbps, std::min(payload_bytes, kSlowPacket), kSlowPacket, 1};
  }
  return {speed_mbps, payload_bytes, kPacket, 1};
}

/// Pictures a second in bytes: as they come, and at most.
struct PictureBytes {
  double usual = 0;
  double most = 0;
};

// Of compressed pictures nothing is certain then but the header of each payload.
void ReserveWithoutSettings(UsbStream& stream, double bytes_per_second, double speed_mbps) {
  const double intervals = FramesPerSecond(speed_mbps);
  stream.shown.payload_bytes = PayloadBytes(bytes_per_second, intervals);
  stream.most = WithoutSettings(speed_mbps, stream.shown.payload_bytes);
  stream.least =
      stream.shown.assumed ? WithoutSettings(speed_mbps, PayloadBytes(0, intervals)) : stream.most;
}

// Compressed: the device asks for what its largest picture needs, or less, and compresses until its
// largest setting holds it; for certain it takes no more than its smallest one.
void Reserve(UsbStream& stream, const PictureBytes& bytes, int interface) {
  const probes::UsbDevice& device = *stream.device;
  const auto largest = LargestSetting(device, interface);
  if (!largest) {
    ReserveWithoutSettings(stream, bytes.usual, device.speed_mbps);
    return;
  }
  const double intervals = IntervalsPerSecond(*largest->endpoint, device.speed_mbps);
  const std::int64_t holds = largest->endpoint->bytes_per_interval;
  stream.setting_bytes_per_second =
      static_cast<double>(std::max<std::int64_t>(0, holds - kPayloadHeaderBytes)) * intervals;
  const std::int64_t usual = PayloadBytes(bytes.usual, intervals);
  const bool assumed = stream.shown.assumed;
  stream.shown.setting_too_small = !assumed && usual > holds;
  stream.shown.payload_bytes =
      assumed ? std::min(holds, std::max(usual, PayloadBytes(bytes.most, intervals))) : usual;
  const auto chosen = ChooseSetting(device, interface, stream.shown.payload_bytes);
  const auto at_least = ChooseSetting(device, interface, assumed ? 1 : usual);
  if (chosen) {
    stream.shown.alternate_setting = chosen->interface->alternate;
  }
  stream.most = TransferOf(device, chosen.value_or(*largest));
  stream.least = TransferOf(device, at_least.value_or(*largest));
}

// Pictures of a source, at the rate that the device runs at for it.
PictureBytes BytesOf(const MatchedSource& source, const Running& running) {
  const double asked = base::ToDouble(source.asked.rate);
  PictureBytes bytes{source.bytes_per_second, source.bytes_per_second};
  if (running.mode != nullptr && asked > 0) {
    bytes.usual *= std::max(1.0, running.rate / asked);
    bytes.most = source.Assumed() ? LargestFrame(*running.mode) * running.rate : bytes.usual;
  }
  return bytes;
}

UsbStream StreamOf(const probes::UsbDevice& device, const MatchedSource* source) {
  UsbStream stream{};
  stream.device = &device;
  stream.shown.path = device.path;
  stream.shown.transfer = CaptureTransfer(device);
  stream.counted = source != nullptr;
  const Running running =
      source != nullptr ? ModeAsked(device, source->asked) : HeaviestMode(device);
  PictureBytes bytes;
  if (source != nullptr) {
    stream.shown.source = source->source;
    stream.shown.mode = source->wanted;
    stream.assumption = AssumptionOf(source->asked);
    stream.shown.assumed = source->Assumed();
    bytes = BytesOf(*source, running);
  } else if (running.mode != nullptr) {
    stream.shown.mode = fmt::format("{}x{} {} at {:.4g}", running.mode->width, running.mode->height,
                                    base::Printable(running.mode->pixel_format, 40), running.rate);
    stream.shown.assumed = !RawFrame(*running.mode);
    bytes = {UsualFrame(*running.mode) * running.rate, LargestFrame(*running.mode) * running.rate};
  }
  stream.shown.bytes_per_second = bytes.usual;
  if (!stream.Isochronous() || bytes.usual <= 0) {
    return stream;
  }
  Reserve(stream, bytes,
          running.mode != nullptr ? running.mode->streaming_interface : kAnyInterface);
  stream.shown.reserved_bytes = stream.most.bytes;
  return stream;
}

const MatchedSource* SourceOn(const SourceMatch& match, const std::string& path) {
  const auto found = std::find_if(match.sources.begin(), match.sources.end(),
                                  [&](const auto& one) { return one.device_path == path; });
  return found == match.sources.end() || path.empty() ? nullptr : &*found;
}

}  // namespace

BusTime UsbStream::TimeOn(double link_speed_mbps, UsbScheduler scheduler, int lanes) const {
  if (!Isochronous()) {
    return {};
  }
  return {TimeOnLink(least, link_speed_mbps, scheduler, lanes).least_us /
              static_cast<double>(least.period),
          TimeOnLink(most, link_speed_mbps, scheduler, lanes).most_us};
}

std::vector<UsbStream> StreamsOf(const probes::UsbInventory& usb, const SourceMatch& match) {
  std::vector<UsbStream> streams;
  for (const probes::UsbDevice& device : usb.devices) {
    if (device.role == probes::UsbRole::kCapture) {
      streams.push_back(StreamOf(device, SourceOn(match, device.path)));
    }
  }
  return streams;
}

const UsbStream* FindStream(const std::vector<UsbStream>& streams,
                            const probes::UsbDevice* device) {
  const auto found = std::find_if(streams.begin(), streams.end(),
                                  [&](const auto& one) { return one.device == device; });
  return found == streams.end() ? nullptr : &*found;
}

std::string AskedText(const std::vector<UsbStream>& streams, const probes::UsbDevice& device) {
  const UsbStream* stream = FindStream(streams, &device);
  return stream == nullptr || !stream->counted
             ? base::FormatBytesPerSecond(0)
             : BytesWithAssumption(stream->shown.bytes_per_second, stream->assumption);
}

UsbStream AtSpeed(const UsbStream& stream, double speed_mbps) {
  UsbStream moved = stream;
  const bool same_settings = (stream.least.speed_mbps >= 5000) == (speed_mbps >= 5000) &&
                             (stream.least.speed_mbps >= 480) == (speed_mbps >= 480);
  moved.least.speed_mbps = speed_mbps;
  moved.most.speed_mbps = speed_mbps;
  if (same_settings || !stream.Isochronous()) {
    return moved;
  }
  // Its settings at the other speed are not known from here.
  moved.setting_bytes_per_second = 0;
  moved.shown.alternate_setting.reset();
  moved.shown.setting_too_small = false;
  if (stream.shown.bytes_per_second > 0) {
    ReserveWithoutSettings(moved, stream.shown.bytes_per_second, speed_mbps);
    moved.shown.reserved_bytes = moved.most.bytes;
  }
  return moved;
}

probes::TransferType CaptureTransfer(const probes::UsbDevice& device) {
  // uvcvideo streams isochronously when the streaming interface has such an
  // endpoint in some alternate setting, and by bulk otherwise (uvc_video.c).
  // With no descriptors read, the lower isochronous ceiling is taken.
  bool bulk = false;
  for (const probes::UsbInterface& interface : device.interfaces) {
    if (!Streams(interface, kAnyInterface)) {
      continue;
    }
    for (const probes::UsbEndpoint& endpoint : interface.endpoints) {
      if (endpoint.type == probes::TransferType::kIsochronous) {
        return probes::TransferType::kIsochronous;
      }
      bulk = bulk || endpoint.type == probes::TransferType::kBulk;
    }
  }
  return bulk ? probes::TransferType::kBulk : probes::TransferType::kIsochronous;
}

std::string StreamText(const CaptureStream& stream, double speed_mbps) {
  if (stream.mode.empty()) {
    return "offers no mode that could be read";
  }
  std::string text = stream.source.empty() ? "no source uses it; its heaviest is " + stream.mode
                                           : base::Printable(stream.source) + ": " + stream.mode;
  if (stream.assumed) {
    text += fmt::format(", about {} assumed", base::FormatBytesPerSecond(stream.bytes_per_second));
  }
  if (stream.transfer != probes::TransferType::kIsochronous) {
    return text + ", bulk: reserves nothing";
  }
  if (stream.alternate_setting) {
    text += fmt::format(", alternate setting {}", *stream.alternate_setting);
  } else if (stream.setting_too_small) {
    text += ", more than its largest alternate setting holds";
  }
  if (stream.reserved_bytes > 0) {
    text += fmt::format(", reserves {}{} bytes in each {}", stream.assumed ? "up to " : "",
                        stream.reserved_bytes, FrameWord(speed_mbps));
  }
  return text;
}

}  // namespace report
