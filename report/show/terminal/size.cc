// SPDX-License-Identifier: Apache-2.0
//
// A sizing on a terminal.

#include "report/predict/size.h"

#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "report/fields/words.h"
#include "report/show/size_words.h"
#include "report/show/terminal/table.h"
#include "report/show/terminal/text.h"
#include "report/show/terminal/tones.h"
#include "report/words/quantities.h"

namespace report {
namespace {

Tone ToneOf(const SizedResource& row) {
  if (!row.headroom_percent) {
    return Tone::kWarn;
  }
  return *row.headroom_percent < 0                    ? Tone::kStop
         : *row.headroom_percent < row.margin_percent ? Tone::kWarn
                                                      : Tone::kGood;
}

std::string SpareCell(const SizedResource& row) {
  return row.headroom_percent ? FormatHeadroomPercent(*row.headroom_percent, row.margin_percent)
                              : "?";
}

/// The item and the interval, on a line under the row.
std::string Below(const SizedResource& row) {
  std::string text = row.item;
  if (row.lowest_percent && row.highest_percent && *row.lowest_percent != *row.highest_percent) {
    text += (text.empty() ? "" : ", ") +
            fmt::format("{} to {}", FormatHeadroomPercent(*row.lowest_percent, row.margin_percent),
                        FormatHeadroomPercent(*row.highest_percent, row.margin_percent));
  }
  return text;
}

void PutResources(TerminalPage& page, const Sizing& sizing) {
  if (sizing.resources.empty()) {
    return;
  }
  page.Heading("Headroom then");
  TerminalTable table;
  table.columns = {{"resource", false, 12}, {"now", true},      {"then", true}, {"available", true},
                   {"margin", true},        {"headroom", true}, {"", false, 6}};
  for (const SizedResource& row : sizing.resources) {
    const std::string unit = row.unit == "x real time" ? "x" : row.unit;
    table.rows.push_back({{RowName(row.resource, "")},
                          {FormatNeeded(row.now, unit)},
                          {FormatNeeded(row.asked, unit)},
                          {row.capacity ? FormatAvailable(*row.capacity, unit) : "not known"},
                          {FormatMarginPercent(row.margin_percent)},
                          {SpareCell(row), ToneOf(row)},
                          {SurenessText(row.sureness)}});
    table.below.push_back(Below(row));
  }
  PutTable(page, 2, table);
}

const char* Enough(const Remedy& remedy) {
  return remedy.verdict == Verdict::kReady ? "fits" : "enough of what is known";
}

void PutRemedies(TerminalPage& page, const Sizing& sizing) {
  const bool wanted =
      std::any_of(sizing.resources.begin(), sizing.resources.end(), [](const SizedResource& row) {
        return row.headroom_percent && *row.headroom_percent < row.margin_percent;
      });
  if (!wanted) {
    return;
  }
  page.Heading("What to change on this PC");
  if (sizing.remedies.empty()) {
    page.Paragraph(2, {"nothing that this result knows of would help"});
  }
  int number = 0;
  for (const Remedy& remedy : sizing.remedies) {
    ++number;
    const char* const then = remedy.sufficient                   ? Enough(remedy)
                             : remedy.verdict == Verdict::kTight ? "fits, below a margin"
                             : remedy.verdict == Verdict::kShort ? "not enough alone"
                                                                 : "not proven";
    page.Beside(2, {fmt::format("{}.", number), Tone::kStrong}, 3,
                {fmt::format("{} ({}): {}{}", remedy.what, CostText(remedy.cost), then,
                             remedy.assumed ? ", partly assumed" : ""),
                 ToneOf(remedy.verdict)});
    if (!remedy.effect.empty()) {
      page.Beside(5, {}, 0, {remedy.effect});
    }
    for (const std::string& change : remedy.changes) {
      page.Beside(5, {}, 0, {"--change \"" + change + "\"", Tone::kDim});
    }
  }
}

void PutPurchases(TerminalPage& page, const Sizing& sizing) {
  if (sizing.purchases.empty()) {
    return;
  }
  page.Heading("What to buy");
  for (const Purchase& purchase : sizing.purchases) {
    page.Beside(2, {"-"}, 2, {purchase.text, Tone::kStrong});
    page.Beside(4, {}, 0, {"from: " + purchase.from, Tone::kDim});
  }
}

void PutLines(TerminalPage& page, const char* heading, const std::vector<std::string>& lines) {
  if (lines.empty()) {
    return;
  }
  page.Heading(heading);
  for (const std::string& line : lines) {
    page.Beside(2, {"-"}, 2, {line});
  }
}

}  // namespace

std::string WriteSizing(const Sizing& sizing, const TerminalStyle& style) {
  TerminalPage page(style);
  page.Beside(0, {std::string(stored::WordOf(sizing.verdict)), ToneOf(sizing.verdict)}, 9,
              {sizing.headline, Tone::kStrong});
  page.Blank();
  page.Beside(0, {"result"}, 9,
              {fmt::format("{}: {}, {}, {}", sizing.result.name, sizing.result.production,
                           sizing.result.machine, sizing.result.started_at)});
  if (sizing.check) {
    page.Beside(0, {"check"}, 9,
                {sizing.check->not_done.empty() ? sizing.check->text
                                                : "not rehearsed: " + sizing.check->not_done});
  }
  page.Heading("Against the production of the result");
  for (const ChangedFact& change : sizing.changes) {
    page.Beside(
        2, {"-"}, 2,
        {fmt::format("{} {}: {} -> {}", change.area, change.what, change.before, change.after)});
  }
  PutLines(page, "Not proven", sizing.unproven);
  PutResources(page, sizing);
  PutRemedies(page, sizing);
  PutPurchases(page, sizing);
  PutLines(page, "Take care", sizing.cautions);
  PutLines(page, "How", sizing.basis);
  return page.text();
}

}  // namespace report
