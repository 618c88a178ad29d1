// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/headroom.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "report/show/terminal/blocks.h"
#include "report/show/terminal/sections.h"
#include "report/words/quantities.h"

namespace report {
namespace {

/// Unit of the whole pipeline's speed.
constexpr std::string_view kTimesRealTime = "x real time";

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

/// A unit as it stands in the table, where a long one would cost a column.
std::string CellUnit(const std::string& unit) {
  return unit == kTimesRealTime ? "x" : unit;
}

void AddRow(const Headroom& row, int columns, int bar_cells, show::Table& table) {
  const HeadroomTexts texts = TextsOf(row, CellUnit(row.unit));
  const bool long_name =
      !row.item.empty() && DisplayWidth(texts.name) > NameColumns(columns, bar_cells);
  table.below.push_back(long_name ? row.item : "");
  std::vector<show::Cell> cells = {{long_name ? RowName(row.resource, "") : texts.name},
                                   {texts.needed},
                                   {texts.available},
                                   {texts.headroom, texts.standing.mark},
                                   {texts.margin}};
  if (bar_cells > 0) {
    cells.push_back({Bar(row, bar_cells), texts.standing.mark});
  }
  cells.push_back(texts.standing);
  table.rows.push_back(std::move(cells));
}

void PutNotes(TerminalPage& page, const Document& document) {
  const auto& rows = document.headroom;
  if (std::any_of(rows.begin(), rows.end(),
                  [](const Headroom& row) { return row.unit == kTimesRealTime; })) {
    page.Beside(2, {"x", Tone::kDim}, 3, {"times real time", Tone::kDim});
  }
}

}  // namespace

void PutHeadroom(TerminalPage& page, const Document& document) {
  if (document.headroom.empty()) {
    return;
  }
  const int bar_cells = BarCells(page.columns());
  page.Heading(bar_cells > 0 ? "Headroom (# in use, | where the margin begins)" : "Headroom");
  show::Table table;
  table.columns = {{"resource", false, false, 12},
                   {"needed", true},
                   {"available", true},
                   {"headroom", true},
                   {"margin", true}};
  if (bar_cells > 0) {
    table.columns.push_back({"", false, false, bar_cells + 3});
  }
  table.columns.push_back({"", false, false, 16});
  for (const Headroom& row : document.headroom) {
    AddRow(row, page.columns(), bar_cells, table);
  }
  PutTable(page, 2, table);
  PutNotes(page, document);
}

void PutBasis(TerminalPage& page, const Document& document) {
  const std::string text = BasisLine(document.headroom);
  if (!text.empty()) {
    page.Blank();
    page.Beside(0, {"figures"}, 11, {text});
  }
}

}  // namespace report
