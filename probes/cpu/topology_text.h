// SPDX-License-Identifier: Apache-2.0
//
// A topology as text, from the program that reads a captured machine to the one that asked for it.

#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "probes/cpu/topology.h"

namespace probes {

/// One line each: "packages 1", "cores 2", "threads 4", "nodes 1", "cache 3 unified 8388608 1",
/// "kind performance 2 0-3".
std::string WriteTopologyText(const CpuTopology& topology);

/// kMalformed for anything else than what is written above, for counts below 0 or above 65536, and
/// for more kinds or caches than a machine has.
base::Result<CpuTopology> ParseTopologyText(std::string_view text);

}  // namespace probes
