// SPDX-License-Identifier: Apache-2.0
//
// Rules on what the rehearsal showed.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// drops-STAGE: frames dropped after the warm-up, one finding per stage (stop).
void DroppedFrames(const RuleInput& input, std::vector<Finding>& findings);
/// rehearsal-incomplete: it ended before its time.
void RehearsalCutShort(const RuleInput& input, std::vector<Finding>& findings);
/// output-failed: an output ended early (stop).
void OutputFailed(const RuleInput& input, std::vector<Finding>& findings);
/// frames-late: frames delivered more than a period late.
void LateFrames(const RuleInput& input, std::vector<Finding>& findings);
/// memory-prediction: measured memory far from the computed pool.
void MemoryOffPrediction(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
