// SPDX-License-Identifier: Apache-2.0
//
// Why frames are missing from recordings, the same wherever it is shown.

#pragma once

#include "report/explain/recording.h"
#include "report/show/blocks.h"

namespace report {

show::Sheet SheetOf(const RecordingCase& question, const RecordingExplanation& answer);

}  // namespace report
