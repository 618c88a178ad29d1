// SPDX-License-Identifier: Apache-2.0
//
// Rules on encoders and the streams that they make.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// encoder-missing: no working encoder for what an output asks (stop).
void EncoderMissing(const RuleInput& input, std::vector<Finding>& findings);
/// encoder-refused: an encoder is listed and does not open.
void EncoderRefused(const RuleInput& input, std::vector<Finding>& findings);
/// level-uncommon: a level above what players commonly take.
void LevelUncommon(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
