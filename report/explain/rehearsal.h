// SPDX-License-Identifier: Apache-2.0
//
// The drops of a rehearsal with their causes.

#pragma once

#include <vector>

#include "report/data/document.h"

namespace report {

/// Sets the cause of every drop of the rehearsal from its ledgers and the
/// telemetry beside it, and gives the causes with their evidence, most frames
/// first. Drops of the warm-up have causes and are not in the accounts. Without
/// a rehearsal or telemetry nothing is named.
std::vector<DropCause> ExplainDrops(Evidence& evidence);

}  // namespace report
