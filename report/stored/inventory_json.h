// SPDX-License-Identifier: Apache-2.0
//
// JSON of what a PC has.

#pragma once

#include <string>

#include "probes/data/inventory.h"

namespace report {

/// One object: `format` "rigproof-inventory", `version`, then the inventory's
/// members by name; what is not known is {"unknown": reason}.
std::string InventoryJson(const probes::Inventory& inventory);

}  // namespace report
