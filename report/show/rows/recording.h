// SPDX-License-Identifier: Apache-2.0
//
// What the times of a recording mean, the same wherever it is shown.

#pragma once

#include <vector>

#include "report/data/recording.h"
#include "report/show/blocks.h"

namespace report {

/// "parts missing" with its mark.
show::Cell VerdictCell(RecordingVerdict verdict);

show::Sheet SheetOf(const RecordingDocument& document);
std::vector<show::Sheet> SheetsOf(const std::vector<RecordingDocument>& documents);

}  // namespace report
