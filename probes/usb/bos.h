// SPDX-License-Identifier: Apache-2.0
//
// The `bos_descriptors` file of a USB device: what it is capable of on a better port.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/reading.h"

namespace probes {

/// One speed that a SuperSpeedPlus device knows, of one lane in one direction.
struct UsbSublink {
  int id = 0;
  double mbps = 0;
  bool asymmetric = false;
  bool transmit = false;  // by the device; else what it receives
  bool plus = false;      // protocol of SuperSpeedPlus; else of SuperSpeed
};

/// USB 2.0 extension: link power management between transfers.
struct UsbPowerSaving {
  bool offered = false;       // LPM
  bool fine_grained = false;  // BESL instead of HIRD
};

struct UsbSuperSpeed {
  int speeds = 0;       // bits: 1 low, 2 full, 4 high, 8 Gen 1 speed
  int least_speed = 0;  // of full function, as the number of its bit
  int u1_exit_us = 0;   // to leave the power saving state U1, as written
  int u2_exit_us = 0;
};

struct UsbSuperSpeedPlus {
  int least_sublink = 0;  // id of the slowest speed with full function
  int least_rx_lanes = 0;
  int least_tx_lanes = 0;
  std::vector<UsbSublink> sublinks;
};

/// A device that tells why another function of its connector is not at work.
struct UsbBillboard {
  int alternate_modes = 0;
  int failed = 0;  // tried without success
  int not_tried = 0;
};

struct UsbBos {
  /// Most that its SuperSpeed capabilities name: 5000, 10000, 20000; none when it
  /// has no such capability.
  std::optional<double> super_speed_mbps;
  std::optional<UsbPowerSaving> power_saving;
  std::optional<UsbSuperSpeed> super_speed;
  std::optional<UsbSuperSpeedPlus> super_speed_plus;
  std::optional<UsbBillboard> billboard;
  /// All of them in their order, for people: "USB 2.0 extension", "SuperSpeed",
  /// "SuperSpeedPlus", "container", "platform <uuid>", "billboard" ... A container's own
  /// number is not kept: it tells one device from all others.
  std::vector<std::string> capabilities;
  std::string fault;  // why it could not be read whole; else empty
};

/// USB 3.2 specification, 9.6.2, table 9-14; billboards: USB Billboard Device Class 1.2.2.
UsbBos ParseBos(std::span<const std::uint8_t> bytes);

/// `bytes` of a BOS with the number of every container written as zeros.
std::string WithoutContainerIds(std::string bytes);

/// The most that a device can do, in Mb/s, never below `speed_mbps` at which it runs
/// now. Without a BOS the version that it names decides; unknown where that says nothing.
base::Reading<double> BestUsbSpeed(double speed_mbps, int bcd_usb,
                                   const std::optional<UsbBos>& bos);

}  // namespace probes
