// SPDX-License-Identifier: Apache-2.0
//
// JSON of the parts that can be asked for by themselves.

#pragma once

#include <string>

#include "probes/data/inventory.h"
#include "profiles/demand.h"
#include "profiles/profile.h"

namespace report {

/// One object: `format` "rigproof-inventory", `version`, then the inventory's
/// members by name; what is not known is {"unknown": reason}.
std::string InventoryJson(const probes::Inventory& inventory);

/// One object: `format` "rigproof-demand", `version`, `profile`, `demand` (rows), `demand_detail`.
std::string DemandJson(const profiles::Profile& profile, const profiles::Demand& demand);

}  // namespace report
