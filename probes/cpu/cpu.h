// SPDX-License-Identifier: Apache-2.0
//
// The CPU and memory of a machine: topology, frequency settings, what this process may use.

#pragma once

#include "base/system/machine_root.h"
#include "probes/data/cpu.h"

namespace probes {

/// Reads /proc/cpuinfo, /proc/meminfo, /sys/devices/system/cpu and hwloc's
/// topology of the root. `min_khz` and `max_khz` are the limits set now
/// (scaling_*), a kind's `max_khz` is what its cores can.
CpuInventory ReadCpu(const base::MachineRoot& root);

}  // namespace probes
