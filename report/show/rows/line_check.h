// SPDX-License-Identifier: Apache-2.0
//
// A line-check, the same wherever it is shown.

#pragma once

#include "report/line_check/line_check.h"
#include "report/show/blocks.h"

namespace report {

show::Sheet SheetOf(const LineDocument& document);

}  // namespace report
