// SPDX-License-Identifier: Apache-2.0
//
// What a production asks of a PC, on a terminal.

#pragma once

#include <string>

#include "profiles/demand/demand.h"
#include "profiles/profile.h"
#include "report/data/writers.h"

namespace report {

/// Per source, per output, then the sums. Nothing in it is measured.
std::string WriteDemandText(const profiles::Profile& profile, const profiles::Demand& demand,
                            const TerminalStyle& style);

}  // namespace report
