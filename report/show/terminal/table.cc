// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/table.h"

#include <algorithm>
#include <cstddef>
#include <optional>

namespace report {
namespace {

constexpr int kGap = 2;
/// No single cell decides the width of a whole table.
constexpr int kWidestCell = 60;

int Total(const std::vector<int>& widths) {
  int total = kGap * (static_cast<int>(widths.size()) - 1);
  for (const int width : widths) {
    total += width;
  }
  return total;
}

/// The widest text column that can still be cut.
std::optional<std::size_t> WidestCuttable(const std::vector<TableColumn>& columns,
                                          const std::vector<int>& widths) {
  std::optional<std::size_t> widest;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    const bool cuttable = !columns[i].number && widths[i] > columns[i].least_columns;
    if (cuttable && (!widest || widths[i] > widths[*widest])) {
      widest = i;
    }
  }
  return widest;
}

/// Widths that fit into `room`, or nothing when cutting does not help.
std::optional<std::vector<int>> FittingWidths(const TerminalTable& table, int room) {
  std::vector<int> widths;
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    int width = DisplayWidth(table.columns[i].name);
    for (const auto& row : table.rows) {
      width = std::max(width, DisplayWidth(CutToWidth(row[i].text, kWidestCell)));
    }
    widths.push_back(width);
  }
  while (Total(widths) > room) {
    const auto widest = WidestCuttable(table.columns, widths);
    if (!widest) {
      return std::nullopt;
    }
    --widths[*widest];
  }
  return widths;
}

void PutRow(TerminalPage& page, int indent, const TerminalTable& table,
            const std::vector<int>& widths, const std::vector<Piece>& row) {
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < row.size(); ++i) {
    if (i > 0) {
      pieces.push_back({std::string(kGap, ' '), Tone::kPlain});
    }
    std::string cell = CutToWidth(row[i].text, widths[i]);
    cell = table.columns[i].number ? PadLeft(std::move(cell), widths[i])
                                   : PadRight(std::move(cell), widths[i]);
    pieces.push_back({std::move(cell), row[i].tone});
  }
  page.Line(indent, pieces);
}

std::string Below(const TerminalTable& table, std::size_t row) {
  return row < table.below.size() ? table.below[row] : "";
}

void PutStacked(TerminalPage& page, int indent, const TerminalTable& table) {
  for (std::size_t at = 0; at < table.rows.size(); ++at) {
    const auto& row = table.rows[at];
    const std::string rest = Below(table, at);
    page.Paragraph(indent, {row[0].text + (rest.empty() ? "" : " " + rest), Tone::kStrong});
    std::string pairs;
    for (std::size_t i = 1; i < row.size(); ++i) {
      if (!row[i].text.empty()) {
        pairs += (pairs.empty() ? "" : ", ") + table.columns[i].name +
                 (table.columns[i].name.empty() ? "" : " ") + row[i].text;
      }
    }
    page.Paragraph(indent + 2, {pairs, Tone::kPlain});
  }
}

}  // namespace

void PutTable(TerminalPage& page, int indent, const TerminalTable& table) {
  if (table.rows.empty()) {
    return;
  }
  const auto widths = FittingWidths(table, page.columns() - indent);
  if (!widths) {
    PutStacked(page, indent, table);
    return;
  }
  std::vector<Piece> names;
  for (const TableColumn& column : table.columns) {
    names.push_back({column.name, Tone::kDim});
  }
  PutRow(page, indent, table, *widths, names);
  for (std::size_t at = 0; at < table.rows.size(); ++at) {
    PutRow(page, indent, table, *widths, table.rows[at]);
    if (const std::string rest = Below(table, at); !rest.empty()) {
      page.Line(indent + kGap, {{CutToWidth(rest, page.columns() - indent - kGap), Tone::kDim}});
    }
  }
}

}  // namespace report
