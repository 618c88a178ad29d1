// SPDX-License-Identifier: Apache-2.0
//
// Resources of which more is needed than there is, where no rule of their own says so.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

void ResourceShort(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
