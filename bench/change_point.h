// SPDX-License-Identifier: Apache-2.0
//
// The change points of base, by their names here.

#pragma once

#include "base/change_point.h"

namespace bench {

using base::FindStep;
using base::FindSteps;
using base::Step;
using base::StepRule;

}  // namespace bench
