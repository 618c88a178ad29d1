// SPDX-License-Identifier: Apache-2.0
//
// Comparisons and rankings of results, the same wherever they are shown.

#pragma once

#include <string>
#include <vector>

#include "report/data/comparison.h"
#include "report/show/blocks.h"

namespace report {

/// What is not the same: "settings kernel: 6.1 -> 6.2". `none`: said where nothing is; without it
/// the part is empty then.
show::Part ChangesPart(std::string title, const std::vector<ChangedFact>& changes,
                       std::string none = {});

show::Sheet SheetOf(const Comparison& comparison);
show::Sheet SheetOf(const Ranking& ranking);

}  // namespace report
