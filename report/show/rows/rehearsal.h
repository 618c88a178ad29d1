// SPDX-License-Identifier: Apache-2.0
//
// What a rehearsal told: every frame, how late, what was dropped and why, what it cost.

#pragma once

#include "report/data/document.h"
#include "report/show/blocks.h"

namespace report {

/// Each is empty where nothing was rehearsed, unless it says otherwise.
show::Part LedgerPart(const Document& document);
show::Part LatenessPart(const Document& document);
/// Runs of dropped frames, their causes, what got slower for good, what the run proves.
show::Part DropsPart(const Document& document);
/// CPU time by stage and by other programs; what was measured without a rehearsal, too.
show::Part CostPart(const Document& document);

}  // namespace report
