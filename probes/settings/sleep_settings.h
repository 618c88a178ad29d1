// SPDX-License-Identifier: Apache-2.0
//
// Whether the PC may fall asleep by itself, from configuration files.

#pragma once

#include "base/system/machine_root.h"
#include "probes/data/settings.h"

namespace probes {

/// Fills sleep_states, sleep_target, idle_action, lid_action and has_lid. What
/// a desktop decides in its own database is not seen.
void ReadSleepSettings(const base::MachineRoot& root, SettingsInventory& settings);

}  // namespace probes
