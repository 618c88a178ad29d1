// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/headroom.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "report/show/terminal/blocks.h"
#include "report/show/terminal/sections.h"
#include "report/words/quantities.h"

namespace report {
namespace {

/// Cells of a bar on a terminal of this width; 0 where the table is better without.
int BarCells(int columns) {
  return columns >= 112 ? 20 : columns >= 96 ? 10 : 0;
}

int Filled(double percent, int cells) {
  if (std::isnan(percent)) {
    return 0;
  }
  return static_cast<int>(std::lround(std::clamp(percent, 0.0, 100.0) * cells / 100));
}

/// "[######----|---]": in use, free, and '|' before what should stay free;
/// '>' at the end where demand is above capacity.
/// Empty where nothing is known.
std::string Bar(const Headroom& row, int cells) {
  if (!row.capacity || !row.headroom_percent) {
    return "";
  }
  const int used = Filled(100 - *row.headroom_percent, cells);
  std::string bar;
  for (int i = 0; i < cells; ++i) {
    bar += i < used ? '#' : '-';
  }
  if (*row.headroom_percent < 0) {
    bar.back() = '>';
  }
  bar.insert(bar.begin() + Filled(100 - row.margin_percent, cells), '|');
  return "[" + bar + "]";
}

/// A name longer than what the other columns leave puts its item on a line of its own.
int NameColumns(int columns, int bar_cells) {
  constexpr int kOtherColumns = 65;  // as wide as figures come, with gaps
  return std::max(15, columns - kOtherColumns - bar_cells);
}

/// A bar before the standing; names that are too long go on below their row.
void FitTable(const std::vector<Headroom>& rows, int columns, int bar_cells, show::Table& table) {
  constexpr std::size_t kHeadroomColumn = 3;
  table.below.resize(rows.size());
  for (std::size_t at = 0; at < rows.size(); ++at) {
    std::vector<show::Cell>& cells = table.rows[at];
    if (!rows[at].item.empty() &&
        DisplayWidth(cells.front().text) > NameColumns(columns, bar_cells)) {
      cells.front().text = RowName(rows[at].resource, "");
      table.below[at] = rows[at].item;
    }
    const show::Mark mark = cells.back().mark;
    cells[kHeadroomColumn].mark = mark;
    if (bar_cells > 0) {
      cells.insert(cells.end() - 1, {Bar(rows[at], bar_cells), mark});
    }
  }
  if (bar_cells > 0) {
    table.columns.insert(table.columns.end() - 1, {"", false, false, bar_cells + 3});
  }
}

}  // namespace

void PutHeadroom(TerminalPage& page, const Document& document) {
  if (document.headroom.empty()) {
    return;
  }
  const int bar_cells = BarCells(page.columns());
  show::Table table = HeadroomTable(document, document.headroom.size());
  FitTable(document.headroom, page.columns(), bar_cells, table);
  page.Heading(table.caption + (bar_cells > 0 ? " (# in use, | where the margin begins)" : ""));
  PutTable(page, 2, table);
}

void PutBasis(TerminalPage& page, const Document& document) {
  const std::string text = BasisLine(document.headroom);
  if (!text.empty()) {
    page.Blank();
    page.Beside(0, {"figures"}, 11, {text});
  }
}

}  // namespace report
