// SPDX-License-Identifier: Apache-2.0
//
// Rules on what the PC does by itself while nobody touches it: sleep, updates, upkeep.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// sleep-when-idle: the session manager ends the show for want of a key press.
void SleepWhenIdle(const RuleInput& input, std::vector<Finding>& findings);
/// sleep-lid: closing the lid does.
void SleepOnLid(const RuleInput& input, std::vector<Finding>& findings);
/// sleep-allowed: no file forbids it (note).
void SleepAllowed(const RuleInput& input, std::vector<Finding>& findings);
/// work-timers: updates or upkeep that may start during the show.
void WorkTimers(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
