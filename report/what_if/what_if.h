// SPDX-License-Identifier: Apache-2.0
//
// The model of changed productions that result.json and the page hold. Pure.

#pragma once

#include <optional>
#include <vector>

#include "report/data/what_if_model.h"
#include "report/predict/size.h"

namespace report {

/// Reckoned by asking what SizeUp() asks, of the production with each of its parts set to each
/// choice; nothing where there is nothing to change, or where the model does not say of the
/// production as it is what SizeUp() says.
std::optional<WhatIfModel> MakeWhatIf(const Evidence& evidence);

/// The inputs as the production is.
std::vector<double> InputsNow(const WhatIfModel& model);

/// Rows, verdict and what is unproven for these inputs, one value for each. `cpus` and the speeds
/// are not set.
SizedProduction EvaluateWhatIf(const WhatIfModel& model, const std::vector<double>& inputs);

}  // namespace report
