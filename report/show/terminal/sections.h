// SPDX-License-Identifier: Apache-2.0
//
// The sections of the verdict on a terminal.

#pragma once

#include <vector>

#include "report/data/document.h"
#include "report/show/terminal/text.h"

namespace report {

/// Verdict, headroom, what to fix first, what is unproven; then what was run.
void PutVerdict(TerminalPage& page, const Document& document);
/// Every resource with a bar: '#' in use, '|' where the margin begins.
void PutHeadroom(TerminalPage& page, const Document& document);
/// Where the figures come from, in a line or two.
void PutBasis(TerminalPage& page, const Document& document);
void PutFindings(TerminalPage& page, const std::vector<Finding>& findings);
void PutCautions(TerminalPage& page, const Document& document);

}  // namespace report
