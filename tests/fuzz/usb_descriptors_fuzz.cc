// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: the parser of binary USB descriptors.

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <span>

#include "probes/usb/descriptors.h"

namespace {

/// Ends the run where an answer cannot be true, whatever the bytes were.
void Require(bool holds) {
  if (!holds) {
    std::abort();
  }
}

void CheckMode(const probes::CaptureMode& mode) {
  Require(mode.width > 0 && mode.width <= 0xffff && mode.height > 0 && mode.height <= 0xffff);
  Require(!mode.pixel_format.empty() && mode.bits_per_pixel >= 0 && mode.bits_per_pixel <= 255);
  Require(std::ranges::is_sorted(mode.intervals_100ns));
  Require(mode.intervals_100ns.empty() || mode.intervals_100ns.front() > 0);
  Require(mode.interval_step_100ns == 0 || mode.intervals_100ns.size() == 2);
  Require(mode.streaming_interface >= 0 && mode.max_frame_bytes >= 0);
}

void CheckEndpoint(const probes::UsbEndpoint& endpoint) {
  Require(endpoint.max_packet_bytes >= 0 && endpoint.max_packet_bytes <= 1024);
  Require(endpoint.packets_per_interval >= 1 && endpoint.packets_per_interval <= 96);
  Require(endpoint.bytes_per_interval >= 0 &&
          endpoint.bytes_per_interval <= endpoint.max_packet_bytes * endpoint.packets_per_interval);
  Require(endpoint.max_burst >= 0 && endpoint.max_burst <= 15);
  Require(endpoint.mult >= 0 && endpoint.mult <= 2);
}

void CheckConfiguration(const probes::UsbConfiguration& configuration, std::size_t input_bytes) {
  std::size_t frames = 0;
  for (const auto& function : configuration.video_functions) {
    for (const auto& stream : function.streams) {
      for (const auto& format : stream.formats) {
        frames += static_cast<std::size_t>(format.frames);
      }
    }
  }
  Require(frames == configuration.modes.size() && frames <= input_bytes / 26);
  for (const auto& mode : configuration.modes) {
    CheckMode(mode);
  }
  for (const auto& interface : configuration.interfaces) {
    for (const auto& endpoint : interface.endpoints) {
      CheckEndpoint(endpoint);
    }
  }
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) {
    return 0;
  }
  // The first byte chooses what the link's speed is said to be.
  const std::span<const std::uint8_t> bytes(data + 1, size - 1);
  const std::optional<bool> speeds[] = {std::nullopt, false, true};
  const auto read = probes::ParseUsbDescriptors(bytes, speeds[data[0] % 3]);
  for (const auto& configuration : read.configurations) {
    CheckConfiguration(configuration, size);
  }
  return 0;
}
