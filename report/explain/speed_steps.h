// SPDX-License-Identifier: Apache-2.0
//
// Lasting changes for the worse within a run, and what moved with them.

#pragma once

#include <vector>

#include "report/data/document.h"

namespace report {

/// Steps of production speed, encode time and clock rate that chance does not
/// explain and that are large enough to matter, in order of time; the run flat
/// out comes last, by its own time.
std::vector<SpeedStep> FindSpeedSteps(const Evidence& evidence);

/// What the judged rehearsal proves about drops an hour; nothing without one.
std::optional<DropProof> ProofOf(const Evidence& evidence);

}  // namespace report
