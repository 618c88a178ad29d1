// SPDX-License-Identifier: Apache-2.0
//
// What the search for headroom by ballast is told of the machine and the rehearsal before it.

#pragma once

#include "bench/ballast/run.h"
#include "bench/plan/plan.h"
#include "report/data/document.h"

namespace cli {

/// Whether ballast can tell something: the rehearsal ran to its end and dropped nothing by itself.
bool WorthBallast(const report::Evidence& evidence);

/// From inventory, telemetry, disk test and rehearsal of `evidence`; `seconds` for all kinds.
bench::BallastOptions BallastOptionsFrom(const report::Evidence& evidence,
                                         const bench::RehearsalPlan& plan, double seconds);

}  // namespace cli
