// SPDX-License-Identifier: Apache-2.0
//
// The ports of a hub or root hub, as the kernel shows them.

#pragma once

#include <string>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/usb.h"
#include "probes/usb/tree.h"

namespace probes {

/// Names below `folder` of the interfaces of a device: "1-1:1.0", "2-0:1.0" for a root hub.
std::vector<std::string> InterfaceFolders(const base::MachineRoot& root, const std::string& folder);

/// Ports of the hub `path` with `ports` of them, in `folder`. Files: Documentation/ABI/testing/
/// sysfs-bus-usb and sysfs-devices-physical_location of the Linux kernel. Empty where the
/// kernel shows none.
std::vector<UsbPort> ReadUsbPorts(const base::MachineRoot& root, const std::string& folder,
                                  const std::string& path, int ports);

/// The hubs that the ports of `hub` share their sockets with.
std::vector<UsbPeer> PeersOf(const UsbDevice& hub);

/// "usb3-port2" as "usb3:2"; empty for what is no port.
std::string ParsePortName(std::string_view name);

}  // namespace probes
