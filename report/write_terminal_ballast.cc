// SPDX-License-Identifier: Apache-2.0

#include <string>

#include "report/quantities.h"
#include "report/write_terminal_sections.h"
#include "report/write_terminal_table.h"

namespace report {
namespace {

std::string NameOf(const BallastFigure& figure) {
  return RowName(figure.resource, figure.item);
}

/// "72 % to 76 %", "at least 72 %", "below 5 %".
std::string Interval(const BallastFigure& figure) {
  if (!figure.low_percent) {
    return figure.high_percent ? "below " + FormatPercent(*figure.high_percent) : "not known";
  }
  return figure.high_percent
             ? FormatPercent(*figure.low_percent) + " to " + FormatPercent(*figure.high_percent)
             : "at least " + FormatPercent(*figure.low_percent);
}

Piece Standing(const BallastFigure& figure) {
  if (!figure.margin_percent) {
    return {""};
  }
  const double low = figure.low_percent.value_or(0);
  if (low >= *figure.margin_percent) {
    return {"kept", Tone::kGood};
  }
  const bool open = !figure.high_percent || *figure.high_percent > *figure.margin_percent;
  return {open ? "open" : "tight", Tone::kWarn};
}

std::vector<Piece> RowOf(const BallastFigure& figure) {
  const Piece standing = Standing(figure);
  return {{RowName(figure.resource, "")},
          {FormatQuantity(figure.own, figure.unit)},
          {figure.carried ? FormatQuantity(*figure.carried, figure.unit) : "none"},
          {Interval(figure), standing.tone},
          {figure.arithmetic_percent ? FormatPercent(*figure.arithmetic_percent) : "-"},
          {figure.margin_percent ? FormatPercent(*figure.margin_percent) : "-"},
          standing};
}

}  // namespace

void PutBallast(TerminalPage& page, const Document& document) {
  if (document.by_ballast.empty()) {
    return;
  }
  page.Heading("Headroom by ballast (extra load until frames drop)");
  TerminalTable table;
  table.columns = {{"resource", false, 8}, {"own", true},  {"carried", true}, {"spare", true},
                   {"arithmetic", true},   {"keep", true}, {"", false, 5}};
  for (const BallastFigure& figure : document.by_ballast) {
    table.rows.push_back(RowOf(figure));
    table.below.push_back(figure.item);
  }
  PutTable(page, 2, table);
  for (const BallastFigure& figure : document.by_ballast) {
    page.Paragraph(2, {NameOf(figure) + ": " + figure.standing + "."});
    for (const std::string& why : figure.why) {
      page.Beside(4, {"-", Tone::kDim}, 2, {why});
    }
  }
}

}  // namespace report
