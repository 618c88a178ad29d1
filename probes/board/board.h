// SPDX-License-Identifier: Apache-2.0
//
// Model of the PC, its board, firmware and memory modules.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/board_sound.h"

namespace probes {

/// From /sys/class/dmi/id, and for memory the first that can be read of the firmware's table
/// (root alone may), udev's record of it, and the kernel's error counters (EDAC).
BoardInventory ReadBoard(const base::MachineRoot& root);

/// Modules in udev's record "+dmi:id", keys MEMORY_DEVICE_n_*; empty where it has none.
std::vector<MemoryModule> ParseUdevMemory(std::string_view record);

/// The channel that a module's socket is on, by the names that the board gives; empty where they
/// do not tell. "P0 CHANNEL A", "ChannelA-DIMM0", "DIMM_A1" (common practice of boards).
std::string ChannelOf(const MemoryModule& module);

}  // namespace probes
