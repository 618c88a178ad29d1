// SPDX-License-Identifier: Apache-2.0
//
// Cables and camera control of a profile on a terminal.

#pragma once

#include <vector>

#include "profiles/demand/cable_reach.h"
#include "profiles/profile.h"
#include "report/show/terminal/text.h"

namespace report {

/// Nothing when the profile has neither. `speeds`: see CableLines.
void PutCablesAndControl(TerminalPage& page, const profiles::Profile& profile,
                         const std::vector<profiles::NegotiatedSpeeds>& speeds);

}  // namespace report
