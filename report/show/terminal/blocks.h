// SPDX-License-Identifier: Apache-2.0
//
// Parts of what people read, laid out on a terminal.

#pragma once

#include "report/show/blocks.h"
#include "report/show/terminal/text.h"

namespace report {

Tone ToneOf(show::Mark mark);

/// Aligned columns; where even cut columns do not fit, every row becomes its name with "column
/// value" pairs wrapped below it. Columns for details are left out in the short form.
void PutTable(TerminalPage& page, int indent, const show::Table& table);

/// The title, then every block that is shown; nothing where none is.
void PutPart(TerminalPage& page, const show::Part& part);

}  // namespace report
