// SPDX-License-Identifier: Apache-2.0
//
// Which plug to move where, so that the fullest USB links carry the smallest share they can.

#pragma once

#include <optional>
#include <vector>

#include "report/loads/facts.h"

namespace report {

/// Nothing when no capture device hangs on USB. `findings` are those of the
/// machine as it is: the plan says which of them the moves mend, and the action
/// of each of these refers to it. Where every way was looked at, the others do
/// not advise another port.
std::optional<MovePlan> PlanMoves(const Facts& facts, std::vector<Finding>& findings);

}  // namespace report
