// SPDX-License-Identifier: Apache-2.0
//
// What one frame of a cost is made of, as the costs program hands it to its caller.

#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "bench/data/results.h"

namespace bench {

/// One line of JSON, for the label of a benchmark.
std::string ToLabel(const CostSubject& subject);

/// Nothing where the text is no such label.
std::optional<CostSubject> FromLabel(std::string_view label);

}  // namespace bench
