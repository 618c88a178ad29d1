// SPDX-License-Identifier: Apache-2.0
//
// What the findings of each rule bear on, and where a report shows what they rest on.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// Of a finding that says nothing of it itself.
void AddBearing(Rule rule, Finding& finding);

/// Whether the table knows the rule: each stands in it, if only to bear on nothing.
bool HasBearing(Rule rule);

}  // namespace report::rules
