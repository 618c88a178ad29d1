// SPDX-License-Identifier: Apache-2.0
//
// Headroom by ballast on the report page: the interval as a bar, arithmetic as a mark, and words.

#include <algorithm>

#include <fmt/format.h>

#include "report/headroom/ballast_figures.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"

namespace report {
namespace {

std::string Place(double percent) {
  return fmt::format("{:.2f}%", std::clamp(percent, 0.0, 100.0));
}

std::string ExtraText(const BallastFigure& figure, const std::optional<double>& extra) {
  return extra ? FormatQuantity(*extra, figure.unit) : std::string("none");
}

Mark MarkOf(const BallastFigure& figure) {
  if (!figure.margin_percent) {
    return Mark::kNone;
  }
  return KeepsMargin(figure) ? Mark::kGood : Mark::kWarn;
}

View BarView(const BallastFigure& figure) {
  const double low = figure.low_percent.value_or(0);
  const double high = figure.high_percent.value_or(100);
  View view("low_width", View(Place(low)));
  view.set("low_place", View(Place(low)));
  view.set("open_width", View(Place(std::max(0.0, high - low))));
  view.set("arithmetic", figure.arithmetic_percent
                             ? View("place", View(Place(*figure.arithmetic_percent)))
                             : View(false));
  view.set("margin", figure.margin_percent ? View("place", View(Place(*figure.margin_percent)))
                                           : View(false));
  return view;
}

/// The steps as a table, for those who want to see every hold.
Table StepsTable(const bench::BallastRun& run) {
  Table table;
  table.caption =
      fmt::format("Holds of {}", base::WordOf(run.kind)) + (run.item.empty() ? "" : " " + run.item);
  table.columns = {
      {"At", true},      {"Asked", true}, {"Used", true}, {"Held", true}, {"Production CPUs", true},
      {"Dropped", true}, {"Late", true},  {"Result"}};
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

View FigureView(const BallastFigure& figure) {
  View view("resource",
            View(figure.resource == Resource::kCpu ? "CPU" : RowName(figure.resource, "")));
  view.set("item", View(figure.item));
  view.set("has_item", View(!figure.item.empty()));
  view.set("interval", View(BallastRange(figure)));
  view.set("mark", View(MarkClass(MarkOf(figure))));
  view.set("bar", BarView(figure));
  view.set("own", View(FormatQuantity(figure.own, figure.unit)));
  view.set("carried", View(ExtraText(figure, figure.carried)));
  view.set("dropped_at", View(ExtraText(figure, figure.dropped_at)));
  view.set("arithmetic_text",
           View(figure.arithmetic_percent ? FormatHeadroomPercent(*figure.arithmetic_percent,
                                                                  figure.margin_percent.value_or(0))
                                          : std::string("no figure")));
  view.set("margin_text", View(figure.margin_percent ? FormatMarginPercent(*figure.margin_percent)
                                                     : std::string("none")));
  view.set("standing", View(figure.standing));
  view.set("why", figure.why.empty() ? View(false) : View("lines", ToView(figure.why)));
  return view;
}

}  // namespace

View BallastView(const Document& document) {
  if (document.by_ballast.empty()) {
    return View(false);
  }
  ViewList figures;
  for (const BallastFigure& figure : document.by_ballast) {
    figures.emplace_back(FigureView(figure));
  }
  ViewList tables;
  for (const bench::BallastRun& run : document.evidence.results.ballast) {
    tables.emplace_back(ToView(StepsTable(run)));
  }
  View view("figures", View(figures));
  view.set("holds", View(tables));
  return view;
}

}  // namespace report
