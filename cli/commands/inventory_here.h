// SPDX-License-Identifier: Apache-2.0
//
// The inventory of this PC as far as it can be read without FFmpeg.

#pragma once

#include "base/result.h"
#include "base/system/machine_root.h"
#include "cli/options/options.h"
#include "probes/take_inventory.h"

namespace cli {

/// The inventory command, of this PC, without opening codecs.
bool IsInventoryHere(const Options& options);
base::Result<int> RunInventoryHere(const Options& options);

/// Takes the inventory and prints it.
base::Result<int> ShowInventory(const base::MachineRoot& root,
                                const probes::InventoryRequest& request, const Options& options);

}  // namespace cli
