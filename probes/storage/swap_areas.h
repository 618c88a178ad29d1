// SPDX-License-Identifier: Apache-2.0
//
// Where memory is swapped out to.

#pragma once

#include <string_view>
#include <vector>

#include "base/reading.h"
#include "base/system/machine_root.h"
#include "probes/data/settings.h"

namespace probes {

/// /proc/swaps; sizes there are in KiB. Disks are left empty.
std::vector<SwapArea> ParseSwaps(std::string_view text);

/// The same with the disks below each area.
base::Reading<std::vector<SwapArea>> ReadSwapAreas(const base::MachineRoot& root);

}  // namespace probes
