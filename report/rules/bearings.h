// SPDX-License-Identifier: Apache-2.0
//
// What the findings of each rule bear on, and where a report shows what they rest on.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

using Rule = void (*)(const RuleInput&, std::vector<Finding>&);

/// Of a finding that says nothing of it itself.
void AddBearing(Rule rule, Finding& finding);

}  // namespace report::rules
