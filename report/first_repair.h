// SPDX-License-Identifier: Apache-2.0
//
// What to fix first.

#pragma once

#include <vector>

#include "report/document.h"

namespace report {

/// The finding to act on first: of the worst severity that asks for something
/// to be done (notes do not), one that bears on the resource that limits the
/// verdict, or else the first. Null when there is none.
const Finding* FirstRepair(const std::vector<Headroom>& headroom,
                           const std::vector<Finding>& findings);

}  // namespace report
