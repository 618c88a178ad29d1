// SPDX-License-Identifier: Apache-2.0
//
// Verdicts from good to bad.

#pragma once

#include "report/data/document.h"

namespace report {

/// 0 ready, then tight, unproven, short: what may yet turn out well comes before what does not.
int BadnessOf(Verdict verdict);

}  // namespace report
