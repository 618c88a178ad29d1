// SPDX-License-Identifier: Apache-2.0
//
// How often the processor slowed itself down to stay cool.

#pragma once

#include <cstdint>
#include <vector>

#include "base/reading.h"
#include "base/system/machine_root.h"

namespace probes {

/// Sum of thermal_throttle/core_throttle_count over cores and of
/// package_throttle_count over packages, since boot. Siblings show the same
/// counter: each core and package is counted once.
base::Reading<std::int64_t> ReadThrottleEvents(const base::MachineRoot& root,
                                               const std::vector<int>& cpus);

}  // namespace probes
