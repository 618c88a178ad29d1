// SPDX-License-Identifier: Apache-2.0
//
// Cables and camera control of a production against their limits, in words.

#pragma once

#include <vector>

#include "profiles/demand/cable_reach.h"
#include "profiles/profile.h"
#include "report/show/blocks.h"

namespace report {

/// Empty where the profile has neither. `speeds`: see CableLines.
show::Part CablesPart(const profiles::Profile& profile,
                      const std::vector<profiles::NegotiatedSpeeds>& speeds);

}  // namespace report
