// SPDX-License-Identifier: Apache-2.0
//
// PCI devices and their links, from /sys/bus/pci.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/reading.h"
#include "base/result.h"
#include "base/system/machine_root.h"
#include "probes/data/pci_gpu.h"
#include "probes/sysfs/id_names.h"

namespace probes {

/// Every PCI function in the order of its address. An error when the machine has
/// no readable /sys/bus/pci/devices: then nothing is known about its cards.
base::Result<std::vector<PciDevice>> ReadPci(const base::MachineRoot& root);

/// Of them, what shares links with capture: bridges, storage, network, displays, multimedia and
/// USB controllers, what has video nodes, and what has a class that does not tell its purpose.
PciInventory ReadPciInventory(const base::MachineRoot& root);

/// "vendor device" from the database; numbers ("1b36:000d") where it has no name.
std::string PciName(IdDatabase& names, int vendor_id, int device_id);

/// "8.0 GT/s PCIe" as 8.0; the kernel's "Unknown" stays unknown.
base::Reading<double> ParseLinkSpeed(std::string_view text);

/// Lanes; the kernel's 0 and 255 mean that there is no link to speak of.
base::Reading<int> ParseLinkWidth(std::string_view text);

/// "0000:00:1c.0" of "/sys/devices/pci0000:00/0000:00:1c.0/0000:02:00.0"; empty
/// where the function stands at its root complex.
std::string ParentFunction(std::string_view sysfs_path);

}  // namespace probes
