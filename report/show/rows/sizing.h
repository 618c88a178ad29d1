// SPDX-License-Identifier: Apache-2.0
//
// A sizing, the same wherever it is shown.

#pragma once

#include "report/data/sizing.h"
#include "report/show/blocks.h"

namespace report {

show::Sheet SheetOf(const Sizing& sizing);

}  // namespace report
