// SPDX-License-Identifier: Apache-2.0
//
// What a recording folder stands on: mount, filesystem, and the layers down to the disks.

#pragma once

#include <filesystem>

#include "base/system/machine_root.h"
#include "probes/data/storage_network.h"

namespace probes {

/// Reads /proc/self/mountinfo and /sys/class/block for the mount that holds
/// `folder`; sizes and permissions are asked of the live machine only.
StorageInventory ReadStorage(const base::MachineRoot& root, const std::filesystem::path& folder);

}  // namespace probes
