// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/extra_load.h"

#include <fmt/format.h>

#include "report/headroom/ballast_figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Mark;

std::string ExtraText(const BallastFigure& figure, const std::optional<double>& extra) {
  return extra ? FormatQuantity(*extra, figure.unit) : std::string("none");
}

show::Table FigureTable(const Document& document) {
  show::Table table{"Headroom measured with extra load",
                    {{"Resource"},
                     {"Needed", true},
                     {"Carried more", true},
                     {"Dropped at", true, false, 8, show::When::kPage},
                     {"Headroom", true},
                     {"Calculated", true},
                     {"Margin", true},
                     {"Standing", false, false, 5}},
                    {}};
  for (const BallastFigure& figure : document.by_ballast) {
    const double margin = figure.margin_percent.value_or(0);
    table.rows.push_back(
        {{RowName(figure.resource, "")},
         {FormatQuantity(figure.own, figure.unit)},
         {ExtraText(figure, figure.carried)},
         {ExtraText(figure, figure.dropped_at)},
         {BallastRange(figure), StandingOf(figure).mark},
         {figure.arithmetic_percent ? FormatHeadroomPercent(*figure.arithmetic_percent, margin)
                                    : "-"},
         {figure.margin_percent ? FormatMarginPercent(margin) : "-"},
         StandingOf(figure)});
    table.below.push_back(figure.item);
  }
  return table;
}

/// Every load step, for those who want to see them.
show::Table StepsTable(const bench::BallastRun& run) {
  show::Table table{fmt::format("All load steps of {}{}{}", base::WordOf(run.kind),
                                run.item.empty() ? "" : " ", run.item),
                    {{"At", true},
                     {"Extra load", true},
                     {"Used", true},
                     {"Held", true},
                     {"Production CPUs", true},
                     {"Dropped", true},
                     {"Late", true},
                     {"Result"}},
                    {}};
  table.when = show::When::kPage;
  for (const bench::BallastStep& step : run.steps) {
    table.rows.push_back(
        {{fmt::format("{:.1f} s", step.at_s)},
         {step.asked > 0 ? FormatQuantity(step.asked, run.unit) : "none"},
         {FormatQuantity(step.used, run.unit)},
         {fmt::format("{:.1f} s", step.seconds)},
         {FormatNumber(step.production_cpus)},
         {FormatCount(step.dropped)},
         {FormatCount(step.late)},
         {step.carried ? "carried" : "dropped", step.carried ? Mark::kGood : Mark::kStop}});
  }
  return table;
}

}  // namespace

show::Cell StandingOf(const BallastFigure& figure) {
  if (!figure.margin_percent) {
    return {""};
  }
  if (KeepsMargin(figure)) {
    return {"ok", Mark::kGood};
  }
  if (MissesMargin(figure)) {
    return {"below the margin", Mark::kWarn};
  }
  return {"unproven", Mark::kUnknown};
}

show::Part ExtraLoadPart(const Document& document) {
  show::Part part{"Headroom measured with extra load", {}};
  if (document.by_ballast.empty()) {
    return part;
  }
  part.blocks.emplace_back(FigureTable(document));
  show::Lines lines;
  for (const BallastFigure& figure : document.by_ballast) {
    lines.lines.push_back({RowName(figure.resource, figure.item) + ": " + figure.standing + "."});
    for (const std::string& why : figure.why) {
      lines.lines.push_back({why, Mark::kNote});
    }
  }
  part.blocks.emplace_back(std::move(lines));
  for (const bench::BallastRun& run : document.evidence.results.ballast) {
    part.blocks.emplace_back(StepsTable(run));
  }
  return part;
}

}  // namespace report
