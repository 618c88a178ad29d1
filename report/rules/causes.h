// SPDX-License-Identifier: Apache-2.0
//
// Rules on why frames were dropped, and on what got slower during the run.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// cause-NAME: one finding per cause that was named, with what to do (stop, or
/// warn where the profile allows that many drops).
void CausesOfDrops(const RuleInput& input, std::vector<Finding>& findings);
/// step-down: something got slower in the middle of the run and stayed so.
void SpeedStepped(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
