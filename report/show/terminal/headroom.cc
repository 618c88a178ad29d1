// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "report/fields/words.h"
#include "report/show/terminal/sections.h"
#include "report/show/terminal/table.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

/// Unit of the whole pipeline's speed.
constexpr std::string_view kTimesRealTime = "x real time";

/// Cells of a bar on a terminal of this width; 0 where the table is better without.
int BarCells(int columns) {
  return columns >= 100 ? 20 : columns >= 76 ? 10 : 0;
}

/// How one resource stands, in a word and a tone that underlines it.
Piece Standing(const Headroom& row) {
  if (!row.capacity || !row.headroom_percent || std::isnan(*row.headroom_percent)) {
    return {"unproven", Tone::kWarn};
  }
  if (*row.headroom_percent < 0) {
    return {"over", Tone::kStop};
  }
  if (*row.headroom_percent < row.margin_percent) {
    return {"tight", Tone::kWarn};
  }
  return {"kept", Tone::kGood};
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

std::string NameOf(const Headroom& row) {
  return RowName(row.resource, row.item);
}

/// A name longer than what the other columns leave puts its item on a line of its own.
int NameColumns(int columns, int bar_cells) {
  constexpr int kOtherColumns = 55;  // as wide as figures come, with gaps
  return std::max(15, columns - kOtherColumns - bar_cells);
}

/// A unit as it stands in the table, where a long one would cost a column.
std::string CellUnit(const std::string& unit) {
  return unit == kTimesRealTime ? "x" : unit;
}

void AddRow(const Headroom& row, int columns, int bar_cells, TerminalTable& table) {
  const Piece standing = Standing(row);
  const bool long_name =
      !row.item.empty() && DisplayWidth(NameOf(row)) > NameColumns(columns, bar_cells);
  table.below.push_back(long_name ? row.item : "");
  std::vector<Piece> cells = {
      {RowName(row.resource, long_name ? "" : row.item)},
      {NeededText(row, CellUnit(row.unit))},
      {AvailableText(row, CellUnit(row.unit))},
      {row.headroom_percent ? FormatHeadroomPercent(*row.headroom_percent, row.margin_percent)
                            : "?",
       standing.tone},
      {FormatMarginPercent(row.margin_percent)}};
  if (bar_cells > 0) {
    cells.push_back({Bar(row, bar_cells), standing.tone});
  }
  cells.push_back(standing);
  table.rows.push_back(std::move(cells));
}

std::string ResourcesOf(const std::vector<Headroom>& headroom, Basis basis) {
  std::vector<std::string> names;
  for (const Headroom& row : headroom) {
    const bool assumed = basis == Basis::kAssumed;
    const std::string name = assumed ? NameOf(row) : RowName(row.resource, "");
    if ((row.capacity || assumed) && row.basis == basis &&
        std::find(names.begin(), names.end(), name) == names.end()) {
      names.push_back(name);
    }
  }
  std::string text;
  for (const std::string& name : names) {
    text += (text.empty() ? "" : ", ") + name;
  }
  return text;
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
  TerminalTable table;
  table.columns = {{"resource", false, 12},
                   {"asked", true},
                   {"there is", true},
                   {"spare", true},
                   {"keep", true}};
  if (bar_cells > 0) {
    table.columns.push_back({"", false, bar_cells + 3});
  }
  table.columns.push_back({"", false, 8});
  for (const Headroom& row : document.headroom) {
    AddRow(row, page.columns(), bar_cells, table);
  }
  PutTable(page, 2, table);
  PutNotes(page, document);
}

void PutBasis(TerminalPage& page, const Document& document) {
  std::string text;
  for (const auto& [basis, word] : stored::kWords<Basis>) {
    const std::string names = ResourcesOf(document.headroom, basis);
    if (!names.empty()) {
      text += (text.empty() ? "" : "; ") + std::string(word) + ": " + names;
    }
  }
  if (text.empty()) {
    return;
  }
  page.Blank();
  page.Beside(0, {"figures"}, 11, {text});
}

}  // namespace report
