// SPDX-License-Identifier: Apache-2.0
//
// What to fix first.

#pragma once

#include <vector>

#include "report/data/document.h"

namespace report {

/// The finding to act on first: where frames were lost, the reason of most of
/// them (a stage is one only for what has no known cause); else of the worst severity that asks for
/// something to be done (notes do not), one that bears on the resource that limits the verdict, or
/// else the first. Null when there is none.
const Finding* FirstRepair(const std::vector<Headroom>& headroom,
                           const std::vector<Finding>& findings);

/// The same, and what other programs took where that alone sets the verdict.
const Finding* FirstRepair(const Document& document);

}  // namespace report
