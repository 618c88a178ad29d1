// SPDX-License-Identifier: Apache-2.0
//
// The processors of a machine as hwloc tells them.

#pragma once

#include <filesystem>

#include "base/result.h"
#include "probes/cpu/topology.h"

namespace probes {

/// This PC's. kMalformed when hwloc cannot make sense of it.
base::Result<CpuTopology> AskHwloc();

/// Points hwloc, in all of this process and for good, at the machine captured in `folder`. Its
/// files may make hwloc end the process, run for ever or take all memory.
void PointHwlocAt(const std::filesystem::path& folder);

}  // namespace probes
