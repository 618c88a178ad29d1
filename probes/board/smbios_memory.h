// SPDX-License-Identifier: Apache-2.0
//
// Memory modules in the firmware's table: SMBIOS (DSP0134), structure type 17.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "probes/data/board_sound.h"

namespace probes {

/// The modules of a whole structure table (/sys/firmware/dmi/tables/DMI). Any bytes at all are
/// taken: what does not fit into the table ends it.
std::vector<MemoryModule> ParseSmbiosMemory(std::string_view table);

/// Whether a text of the firmware is one of those that stand where nobody wrote any.
bool SaysNothing(std::string_view text);

/// A table of the modules alone, without their serial numbers and asset tags, that
/// ParseSmbiosMemory reads alike. Nothing else of the table is in it.
std::string MemoryTableWithoutSerials(std::string_view table);

}  // namespace probes
