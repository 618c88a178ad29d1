// SPDX-License-Identifier: Apache-2.0
//
// Graphics adapters, capture cards and displays of a machine.

#pragma once

#include "base/system/machine_root.h"
#include "probes/data/pci_gpu.h"

namespace probes {

/// Adapters are PCI class 03; capture cards are multimedia video controllers
/// (0400) and other multimedia controllers (0480). `pci`: the machine's functions.
GpuInventory ReadGpu(const base::MachineRoot& root, const PciInventory& pci);

}  // namespace probes
