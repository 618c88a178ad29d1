// SPDX-License-Identifier: Apache-2.0
//
// JSON of the demand by itself.

#pragma once

#include <string>

#include "profiles/demand/demand.h"
#include "profiles/profile.h"

namespace report {

/// One object: `format` "rigproof-demand", `version`, `profile`, `demand` (rows), `demand_detail`.
std::string DemandJson(const profiles::Profile& profile, const profiles::Demand& demand);

}  // namespace report
