#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>
#include <vector>

#include "report/quantities.h"
#include "report/stored/words.h"
#include "report/write_terminal_sections.h"
#include "report/write_terminal_table.h"

namespace report {
namespace {

constexpr int kBarCells = 16;
/// Below this the table is better without bars.
constexpr int kLeastColumnsWithBar = 76;

/// How one resource stands, in a word and a tone that underlines it.
Piece Standing(const Headroom& row) {
  if (!row.capacity || !row.headroom_percent) {
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

int Cells(double percent) {
  if (!std::isfinite(percent)) {
    return 0;
  }
  return static_cast<int>(std::lround(std::clamp(percent, 0.0, 100.0) * kBarCells / 100));
}

/// "[######----|---]": in use, free, and '|' before what should stay free;
/// '>' at the end where demand is above capacity.
std::string Bar(const Headroom& row) {
  if (!row.capacity || !row.headroom_percent) {
    return "[" + std::string(kBarCells + 1, ' ') + "]";
  }
  const int used = Cells(100 - *row.headroom_percent);
  std::string cells;
  for (int i = 0; i < kBarCells; ++i) {
    cells += i < used ? '#' : '-';
  }
  if (*row.headroom_percent < 0) {
    cells.back() = '>';
  }
  const int mark = Cells(100 - row.margin_percent);
  cells.insert(cells.begin() + mark, '|');
  return "[" + cells + "]";
}

std::string NameOf(const Headroom& row) {
  return row.item.empty() ? row.resource : row.resource + " " + row.item;
}

void AddRow(const Headroom& row, bool bars, TerminalTable& table) {
  const Piece standing = Standing(row);
  std::vector<Piece> cells = {
      {NameOf(row)},
      {FormatQuantity(row.demand, row.unit)},
      {row.capacity ? FormatQuantity(*row.capacity, row.unit) : "not known"},
      {row.headroom_percent ? FormatPercent(*row.headroom_percent) : "?", standing.tone},
      {FormatPercent(row.margin_percent)}};
  if (bars) {
    cells.push_back({Bar(row), standing.tone});
  }
  cells.push_back(standing);
  table.rows.push_back(std::move(cells));
}

std::string ResourcesOf(const std::vector<Headroom>& headroom, Basis basis) {
  std::vector<std::string> names;
  for (const Headroom& row : headroom) {
    if (row.capacity && row.basis == basis &&
        std::find(names.begin(), names.end(), row.resource) == names.end()) {
      names.push_back(row.resource);
    }
  }
  std::string text;
  for (const std::string& name : names) {
    text += (text.empty() ? "" : ", ") + name;
  }
  return text;
}

}  // namespace

void PutHeadroom(TerminalPage& page, const Document& document) {
  if (document.headroom.empty()) {
    return;
  }
  const bool bars = page.columns() >= kLeastColumnsWithBar;
  page.Heading(bars ? "Headroom (# in use, | where the margin begins)" : "Headroom");
  TerminalTable table;
  table.columns = {{"resource", false, 12},
                   {"asked", true},
                   {"there is", true},
                   {"spare", true},
                   {"keep", true}};
  if (bars) {
    table.columns.push_back({"", false, kBarCells + 3});
  }
  table.columns.push_back({"", false, 8});
  for (const Headroom& row : document.headroom) {
    AddRow(row, bars, table);
  }
  PutTable(page, 2, table);
  for (const Headroom& row : document.headroom) {
    if (!row.capacity && !row.how_to_prove.empty()) {
      page.Beside(2, {"prove"}, 7, {NameOf(row) + ": " + row.how_to_prove});
    }
  }
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
