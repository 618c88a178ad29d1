// SPDX-License-Identifier: Apache-2.0

#include <string>

#include "report/headroom/ballast_figures.h"
#include "report/show/terminal/sections.h"
#include "report/show/terminal/table.h"
#include "report/words/quantities.h"

namespace report {
namespace {

std::string NameOf(const BallastFigure& figure) {
  return RowName(figure.resource, figure.item);
}

Piece Standing(const BallastFigure& figure) {
  if (!figure.margin_percent) {
    return {""};
  }
  if (KeepsMargin(figure)) {
    return {"kept", Tone::kGood};
  }
  return {MissesMargin(figure) ? "tight" : "open", Tone::kWarn};
}

std::string PercentOf(const BallastFigure& figure) {
  return figure.arithmetic_percent
             ? FormatHeadroomPercent(*figure.arithmetic_percent, figure.margin_percent.value_or(0))
             : "-";
}

std::vector<Piece> RowOf(const BallastFigure& figure) {
  const Piece standing = Standing(figure);
  return {{RowName(figure.resource, "")},
          {FormatQuantity(figure.own, figure.unit)},
          {figure.carried ? FormatQuantity(*figure.carried, figure.unit) : "none"},
          {BallastRange(figure), standing.tone},
          {PercentOf(figure)},
          {figure.margin_percent ? FormatMarginPercent(*figure.margin_percent) : "-"},
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
