// SPDX-License-Identifier: Apache-2.0
//
// From evidence to a verdict. A pure function: the same evidence gives the same document.

#pragma once

#include "report/data/document.h"

namespace report {

Document Assess(Evidence evidence);

/// 0 ready, 3 tight, 4 short, 5 unproven.
int ExitStatus(Verdict verdict);

}  // namespace report
