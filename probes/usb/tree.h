// SPDX-License-Identifier: Apache-2.0
//
// The USB tree of a machine, from /sys/bus/usb and /sys/class/video4linux.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/usb.h"

namespace probes {

/// Controllers, root hubs, hubs and devices. Documentation/ABI/testing/sysfs-bus-usb
/// of the Linux kernel names the files. A device that goes away while it is read
/// keeps what was read of it.
UsbInventory ReadUsb(const base::MachineRoot& root);

/// The kernel's name of a device: "usb2" (root hub) or "2-1.4" (bus 2, port 1, port 4).
struct UsbPath {
  int bus = 0;
  std::vector<int> ports;

  // NOLINTNEXTLINE(modernize-use-nullptr): clang-tidy 14 sees one in what the compiler makes of it
  auto operator<=>(const UsbPath&) const = default;
  /// Name of the hub above; empty for a root hub.
  std::string Parent() const;
};

/// Nothing for names of other things ("2-1:1.0", "ep_00").
std::optional<UsbPath> ParseUsbPath(std::string_view name);

/// The sysfs `speed` file in Mb/s; 0 when it is none of the kernel's strings.
double ParseUsbSpeed(std::string_view text);

/// Two ports of different hubs that share one socket (the `peer` link between them).
struct UsbPeer {
  std::string hub;
  std::string other_hub;
};

/// Fills `physical_hub` of every hub: hubs that peers connect get one text,
/// made of their names ("1-1+2-1"); a hub without another half gets its own.
void JoinHubHalves(const std::vector<UsbPeer>& peers, std::vector<UsbDevice>& devices);

/// What the device is to a production, from its class and its interfaces.
UsbRole RoleOf(int device_class, const UsbDevice& device, bool has_network_link);

}  // namespace probes
