// SPDX-License-Identifier: Apache-2.0
//
// Every disk of the PC, with what it says of its health.

#pragma once

#include "base/system/machine_root.h"
#include "probes/data/storage_network.h"

namespace probes {

/// Where the health of a captured machine's disks stands, as they told it when it was captured.
inline constexpr const char* kCapturedDisksFile = "/captured/disks";

/// Disks that are no layer above others: no partitions, no loop devices, no optical drives. This
/// PC's are asked (ask_disk.h); temperatures come from the kernel's sensors where it has them.
DiskInventory ReadDisks(const base::MachineRoot& root);

}  // namespace probes
