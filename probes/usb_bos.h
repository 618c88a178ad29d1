// SPDX-License-Identifier: Apache-2.0
//
// The `bos_descriptors` file of a USB device: what it is capable of on a better port.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>

#include "base/reading.h"

namespace probes {

struct UsbBos {
  /// Most that its SuperSpeed capabilities name: 5000, 10000, 20000; none when it
  /// has no such capability.
  std::optional<double> super_speed_mbps;
  std::string fault;  // why it could not be read whole; else empty
};

/// USB 3.2 specification, 9.6.2: capabilities 0x03 (SuperSpeed) and 0x0a (SuperSpeedPlus).
UsbBos ParseBos(std::span<const std::uint8_t> bytes);

/// The most that a device can do, in Mb/s, never below `speed_mbps` at which it runs
/// now. Without a BOS the version that it names decides; unknown where that says nothing.
base::Reading<double> BestUsbSpeed(double speed_mbps, int bcd_usb,
                                   const std::optional<UsbBos>& bos);

}  // namespace probes
