// SPDX-License-Identifier: Apache-2.0
//
// An answer by itself as a page: one file that opens offline and has no script.

#pragma once

#include <string>

#include "report/explain/recording.h"
#include "report/show/blocks.h"

namespace report {

std::string SheetPage(const show::Sheet& sheet, const std::string& program_version);

/// With each recording drawn over time.
std::string ExplanationPage(const RecordingCase& question, const RecordingExplanation& answer);

}  // namespace report
