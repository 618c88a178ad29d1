// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/sizing.h"

#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "report/fields/sizing.h"
#include "report/fields/words.h"
#include "report/show/rows/comparison.h"
#include "report/show/rows/verdict.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Mark;

bool BelowMargin(const SizedResource& row) {
  return row.headroom_percent && *row.headroom_percent < row.margin_percent;
}

show::Cell HeadroomCell(const SizedResource& row) {
  if (!row.headroom_percent) {
    return {"not known", Mark::kUnknown};
  }
  return {FormatHeadroomPercent(*row.headroom_percent, row.margin_percent),
          *row.headroom_percent < 0 ? Mark::kStop
          : BelowMargin(row)        ? Mark::kWarn
                                    : Mark::kGood};
}

/// The item and the interval.
std::string RestOf(const SizedResource& row) {
  std::string text = row.item;
  if (row.lowest_percent && row.highest_percent && *row.lowest_percent != *row.highest_percent) {
    text += (text.empty() ? "" : ", ") +
            fmt::format("{} to {}", FormatHeadroomPercent(*row.lowest_percent, row.margin_percent),
                        FormatHeadroomPercent(*row.highest_percent, row.margin_percent));
  }
  return text;
}

show::Part ResultPart(const Sizing& sizing) {
  show::Facts facts;
  facts.Add("Result",
            fmt::format("{}: {}, {}, started {}", sizing.result.name, sizing.result.production,
                        sizing.result.machine, sizing.result.started_at));
  if (sizing.check) {
    facts.Add("Check", sizing.check->not_done.empty() ? sizing.check->text
                                                      : "not rehearsed: " + sizing.check->not_done);
  }
  return {"Calculated from", {facts}};
}

show::Part ResourcesPart(const Sizing& sizing) {
  show::Table table{"Each resource with the change",
                    {{"Resource", false, false, 12},
                     {"Now", true},
                     {"Needed", true},
                     {"Available", true},
                     {"Headroom", true},
                     {"Margin", true},
                     {"How sure", false, false, 6}},
                    {}};
  for (const SizedResource& row : sizing.resources) {
    const std::string unit = row.unit == "x real time" ? "x" : row.unit;
    table.rows.push_back({{RowName(row.resource, "")},
                          {FormatNeeded(row.now, unit)},
                          {FormatNeeded(row.asked, unit)},
                          {row.capacity ? FormatAvailable(*row.capacity, unit) : "not known"},
                          HeadroomCell(row),
                          {FormatMarginPercent(row.margin_percent)},
                          {std::string(stored::WordOf(row.sureness))}});
    table.below.push_back(RestOf(row));
  }
  return table.rows.empty() ? show::Part{} : show::Part{"Headroom then", {table}};
}

const char* Outcome(const Remedy& remedy) {
  if (remedy.sufficient) {
    return remedy.verdict == Verdict::kReady ? "fits" : "enough of what is known";
  }
  switch (remedy.verdict) {
    case Verdict::kTight:
      return "fits, below a margin";
    case Verdict::kShort:
      return "not enough alone";
    case Verdict::kReady:
    case Verdict::kUnproven:
      break;
  }
  return "not proven";
}

show::Part RemediesPart(const Sizing& sizing) {
  if (std::none_of(sizing.resources.begin(), sizing.resources.end(), BelowMargin)) {
    return {};
  }
  show::Part part{"What to change on this PC", {}};
  int number = 0;
  for (const Remedy& remedy : sizing.remedies) {
    show::Lines lines;
    lines.name = {
        fmt::format("{}. {} ({}): {}{}", ++number, remedy.what, stored::WordOf(remedy.cost),
                    Outcome(remedy), remedy.assumed ? ", partly assumed" : ""),
        WordsOf(remedy.verdict).mark};
    if (!remedy.effect.empty()) {
      lines.lines.push_back({remedy.effect});
    }
    for (const std::string& change : remedy.changes) {
      lines.lines.push_back({"with --change \"" + change + "\"", Mark::kNote});
    }
    part.blocks.emplace_back(lines);
  }
  if (part.blocks.empty()) {
    part.blocks.emplace_back(show::Note{{"Nothing that this result knows of would help."}});
  }
  return part;
}

show::Part PurchasesPart(const Sizing& sizing) {
  std::vector<std::string> texts;
  texts.reserve(sizing.purchases.size());
  for (const Purchase& purchase : sizing.purchases) {
    texts.push_back(fmt::format("{} (from: {})", purchase.text, purchase.from));
  }
  return show::ListPart("What to buy", texts);
}

}  // namespace

show::Sheet SheetOf(const Sizing& sizing) {
  const VerdictWords words = WordsOf(sizing.verdict);
  return {"Does it fit?",
          {words.word, words.mark},
          sizing.headline,
          {ResultPart(sizing), ChangesPart("Against the production of the result", sizing.changes),
           show::ListPart("Not proven", sizing.unproven), ResourcesPart(sizing),
           RemediesPart(sizing), PurchasesPart(sizing),
           show::ListPart("Take care", sizing.cautions), show::ListPart("How", sizing.basis)}};
}

}  // namespace report
