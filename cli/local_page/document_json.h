// SPDX-License-Identifier: Apache-2.0
//
// Verdicts and figures as the page shows them: in the same words and roundings as the report.

#pragma once

#include "cli/local_page/answer.h"
#include "report/data/document.h"
#include "report/data/sizing.h"

namespace cli {

Json DocumentJson(const report::Document& document);
Json SizingAnswerJson(const report::Sizing& sizing);

}  // namespace cli
