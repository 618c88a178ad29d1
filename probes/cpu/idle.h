// SPDX-License-Identifier: Apache-2.0
//
// The states that an idle CPU may fall into, and how long it takes to wake.

#pragma once

#include <vector>

#include "base/reading.h"
#include "base/system/machine_root.h"
#include "probes/data/settings.h"

namespace probes {

/// Of the first CPU, from its cpuidle folder.
base::Reading<std::vector<CpuIdleState>> ReadIdleStates(const base::MachineRoot& root);

}  // namespace probes
