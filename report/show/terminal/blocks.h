// SPDX-License-Identifier: Apache-2.0
//
// Parts of what people read, laid out on a terminal.

#pragma once

#include <string>
#include <vector>

#include "report/show/blocks.h"
#include "report/show/terminal/text.h"

namespace report {

Tone ToneOf(show::Mark mark);

/// Its word in capitals.
Piece VerdictPiece(const show::Cell& verdict);

/// Aligned columns; where even cut columns do not fit, every row becomes its name with "column
/// value" pairs wrapped below it. Columns for details are left out in the short form; `more` says
/// where the rows are that a terminal has no room for.
void PutTable(TerminalPage& page, int indent, const show::Table& table,
              const char* more = "in the report");

/// The title, then every block that is shown; nothing where none is.
void PutPart(TerminalPage& page, const show::Part& part, const char* more = "in the report");

/// Verdict and headline of each, then its parts.
std::string WriteSheets(const std::vector<show::Sheet>& sheets, const TerminalStyle& style);

}  // namespace report
