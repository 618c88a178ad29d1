// SPDX-License-Identifier: Apache-2.0
//
// Rules on displays, memory and the state of the system.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// displays-fewer: fewer displays connected than wanted, or not readable.
void TooFewDisplays(const RuleInput& input, std::vector<Finding>& findings);
/// swap: memory may be swapped out while frames are in it (note).
void SwapInUse(const RuleInput& input, std::vector<Finding>& findings);
/// display-mode: no display shows the multiview at its size.
void DisplayModeSmall(const RuleInput& input, std::vector<Finding>& findings);
/// clock-two-keepers: two programs set the clock.
void TwoClockKeepers(const RuleInput& input, std::vector<Finding>& findings);
/// clock-not-synchronised: the system clock follows no time server.
void ClockNotSynchronised(const RuleInput& input, std::vector<Finding>& findings);
/// rates-differ: a source's or output's rate is not the program's.
void RatesDiffer(const RuleInput& input, std::vector<Finding>& findings);
/// probe-failed: a part of the inventory could not be read (note).
void ProbesFailed(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
