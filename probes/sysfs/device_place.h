// SPDX-License-Identifier: Apache-2.0
//
// Where a device hangs, told from its resolved path below /sys/devices.

#pragma once

#include <string>
#include <string_view>

namespace probes {

struct DevicePlace {
  std::string usb_path;     // "2-1.4": the nearest USB device above; else empty
  std::string pci_address;  // "0000:00:14.0": the nearest PCI function above; else empty
};

/// `sysfs_path` as MachineRoot::Resolve gives it.
DevicePlace PlaceOf(std::string_view sysfs_path);

/// "0000:00:14.0": domain, bus, device and function in hexadecimal.
bool IsPciAddress(std::string_view name);

/// "2-1.4": bus, then the ports on the way down. Root hubs and interfaces are none.
bool IsUsbDevicePath(std::string_view name);

}  // namespace probes
