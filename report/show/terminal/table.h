// SPDX-License-Identifier: Apache-2.0
//
// Aligned columns on a terminal, or stacked entries where the terminal is too narrow.

#pragma once

#include <string>
#include <vector>

#include "report/show/terminal/text.h"

namespace report {

struct TableColumn {
  std::string name;
  bool number = false;    // set to the right
  int least_columns = 8;  // a text column is cut no further than this
};

/// Rows of one piece per column. The first column is the row's name.
struct TerminalTable {
  std::vector<TableColumn> columns;
  std::vector<std::vector<Piece>> rows;
  std::vector<std::string> below =
      {};  // the rest of a name, on a line under the row; may be shorter
};

/// Puts the table on the page. Where even cut columns do not fit, every row
/// becomes its name with "column value" pairs wrapped below it.
void PutTable(TerminalPage& page, int indent, const TerminalTable& table);

}  // namespace report
