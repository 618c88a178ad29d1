// SPDX-License-Identifier: Apache-2.0
//
// The sockets of a PC and its hubs: where a plug can go, and what is in them.

#pragma once

#include <string>
#include <vector>

#include "probes/data/usb.h"

namespace report {

/// One half of a socket: a port of a hub or root hub.
struct PortHalf {
  const probes::UsbDevice* hub = nullptr;  // null: the socket has no such half
  int number = 0;

  bool there() const { return hub != nullptr; }
  bool operator==(const PortHalf&) const = default;
};

/// A socket with its USB 2 half and its USB 3 half, joined by the ports' peers.
struct Socket {
  PortHalf usb2;
  PortHalf usb3;
  bool offered = true;  // false: hardwired, or the kernel says that it is not used
  std::string panel;    // side of the case, where the firmware tells: "back"; else empty
  std::vector<const probes::UsbDevice*> devices;  // that are in it

  /// The half that a device of that speed uses.
  const PortHalf& HalfFor(double speed_mbps) const { return speed_mbps >= 5000 ? usb3 : usb2; }
};

/// All sockets of hubs whose ports were read, and those of devices that hang
/// elsewhere (not offered). Hubs in the inventory's order, then by port.
std::vector<Socket> FindSockets(const probes::UsbInventory& usb);

}  // namespace report
