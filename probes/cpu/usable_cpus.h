// SPDX-License-Identifier: Apache-2.0
//
// How many CPUs this process may really use.

#pragma once

#include <optional>

#include "base/reading.h"
#include "base/system/machine_root.h"

namespace probes {

/// The smaller of this process's affinity and the CPU quota of its control
/// groups. Unknown on a captured machine: neither belongs to it.
base::Reading<double> ReadUsableCpus(const base::MachineRoot& root);

/// CPUs that process `pid` may run on, quotas of its groups apart; nothing when the kernel does not
/// tell, or for 0.
std::optional<double> UsableCpusOf(const base::MachineRoot& root, int pid);

}  // namespace probes
