// SPDX-License-Identifier: Apache-2.0
//
// Rules on cables and on chains of camera control, where the profile has them.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// cable-length: a cable beyond the published limit for what it carries.
void CableLength(const RuleInput& input, std::vector<Finding>& findings);
/// cable-too-slow: a USB 2 cable for pictures that need more (stop).
void CableTooSlow(const RuleInput& input, std::vector<Finding>& findings);
/// control-length: a chain of camera control beyond the limit of its wires.
void ControlLength(const RuleInput& input, std::vector<Finding>& findings);
/// control-speed: RS-232 faster than its standard goes (note).
void ControlSpeed(const RuleInput& input, std::vector<Finding>& findings);
/// control-chain-break: one break loses every camera after it (note).
void ControlChainBreak(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
