// SPDX-License-Identifier: Apache-2.0
//
// A recording over time, drawn without script: its holes above, signs of the PC below.

#pragma once

#include <cstddef>

#include "report/explain/recording.h"
#include "report/show/html/pieces.h"

namespace report {

/// Lanes of one recording; signs are there when it was placed in the log.
View TimelineView(const RecordingCase& question, const RecordingExplanation& answer,
                  std::size_t recording);

}  // namespace report
