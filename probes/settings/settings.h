// SPDX-License-Identifier: Apache-2.0
//
// Settings of the operating system that bite: power, clock, scanners of files.

#pragma once

#include "base/system/machine_root.h"
#include "probes/data/settings.h"

namespace probes {

/// Reads os-release, the kernel's version, /sys/class/power_supply, the power
/// profile, the ASPM policy, the clock's state and its keepers, the fanotify marks,
/// sleep, swap, timers of updates and the idle states of the CPU.
SettingsInventory ReadSettings(const base::MachineRoot& root);

}  // namespace probes
