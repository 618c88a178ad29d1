// SPDX-License-Identifier: Apache-2.0
//
// The `descriptors` file of a USB device: device, configurations, interfaces, endpoints.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "probes/data/usb.h"

namespace probes {

/// USB 3.2 specification, table 9-11.
struct UsbDeviceDescriptor {
  int bcd_usb = 0;  // 0x0320 = 3.20
  int device_class = 0;
  int subclass = 0;
  int protocol = 0;
  int max_packet_0 = 0;  // bytes, or the exponent 9 when the device runs at SuperSpeed
  int vendor_id = 0;
  int product_id = 0;
};

/// Interfaces that form one function together.
struct UsbAssociation {
  int first_interface = 0;
  int interface_count = 0;
  int function_class = 0;
  int subclass = 0;
  int protocol = 0;
};

struct UsbConfiguration {
  int value = 0;
  int attributes = 0;       // 0x40 = self powered
  int max_power_units = 0;  // of 2 mA, or of 8 mA at SuperSpeed
  std::vector<UsbAssociation> associations;
  std::vector<UsbInterface> interfaces;  // one entry per alternate setting; drivers not read
  std::vector<CaptureMode> modes;        // of its UVC VideoStreaming interfaces
  std::vector<VideoFunction> video_functions;
};

struct UsbDescriptors {
  std::optional<UsbDeviceDescriptor> device;
  std::vector<UsbConfiguration> configurations;
  bool companions = false;  // endpoints have SuperSpeed companions
  std::string fault;        // the first thing that made no sense; what could be read stays
};

/// Every byte is a stranger's: lengths and counts are checked against the
/// bytes that are there. Link speed is that of `super_speed` when given, else as the
/// device descriptor tells (its packet size is written 9 at SuperSpeed only).
UsbDescriptors ParseUsbDescriptors(std::span<const std::uint8_t> bytes,
                                   std::optional<bool> super_speed = std::nullopt);

}  // namespace probes
