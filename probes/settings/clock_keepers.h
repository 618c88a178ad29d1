// SPDX-License-Identifier: Apache-2.0
//
// Which programs are set to keep the clock right.

#pragma once

#include <vector>

#include "base/reading.h"
#include "base/system/machine_root.h"
#include "probes/data/settings.h"

namespace probes {

/// Keepers that are switched on or whose run-time files are there. Unknown on
/// machines without service units.
base::Reading<std::vector<ClockKeeper>> ReadClockKeepers(const base::MachineRoot& root);

}  // namespace probes
