// SPDX-License-Identifier: Apache-2.0
//
// A plan for runs that only measure: nothing is kept, nothing leaves this PC.

#pragma once

#include <string>

#include "bench/plan/plan.h"

namespace bench {

/// The same plan with files of its own (`prefix` before their names) that nobody
/// keeps, and every stream to our own sink: no server of others is to get a show
/// at several times its speed, or twice.
RehearsalPlan ThrowawayPlan(RehearsalPlan plan, const std::string& prefix);

}  // namespace bench
