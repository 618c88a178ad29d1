// SPDX-License-Identifier: Apache-2.0
//
// The lists and maps of processors and memory nodes that a topology is made of, looked at before
// hwloc reads them.

#pragma once

#include <string_view>

#include "base/result.h"
#include "base/system/machine_root.h"

namespace probes {

/// "ff,ffffffff": the kernel's map of processors, the highest first. kMalformed for anything else,
/// and for one of more than 65536.
base::Status CheckCpuMap(std::string_view text);

/// kNotPresent where no processor has a topology, for which hwloc would tell of the PC that it runs
/// on; kMalformed where one has a number above 65535.
base::Status CheckProcessors(const base::MachineRoot& root);

/// The same, and every such file of a captured machine can be taken: hwloc ends the process at some
/// that cannot, and works for minutes at others. The first that cannot is named (kMalformed).
base::Status CheckTopologyLists(const base::MachineRoot& root);

}  // namespace probes
