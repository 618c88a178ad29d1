// SPDX-License-Identifier: Apache-2.0
//
// Space that a recording may fill: what is free, less what must stay free.

#pragma once

#include "probes/data/storage_network.h"

namespace report {

/// Bytes that stay free: 2 GiB or 5 % of the filesystem, the larger.
double SpaceGuard(const probes::StorageInventory& storage);
/// Free bytes above the guard; 0 when the free space is unknown.
double UsableSpace(const probes::StorageInventory& storage);

}  // namespace report
