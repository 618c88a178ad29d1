// SPDX-License-Identifier: Apache-2.0
//
// Headroom measured with extra load on the report page: each interval as a bar above the table.

#include <algorithm>

#include <fmt/format.h>

#include "report/headroom/ballast_figures.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/show/rows/extra_load.h"

namespace report {
namespace {

std::string Place(double percent) {
  return fmt::format("{:.2f}%", std::clamp(percent, 0.0, 100.0));
}

View BarOf(const BallastFigure& figure) {
  const double low = figure.low_percent.value_or(0);
  const double high = figure.high_percent.value_or(100);
  View view("resource", View(RowName(figure.resource, figure.item)));
  view.set("interval", View(BallastRange(figure)));
  view.set("mark", View(MarkClass(StandingOf(figure).mark)));
  view.set("low", View(Place(low)));
  view.set("open_width", View(Place(std::max(0.0, high - low))));
  view.set("calculated", figure.arithmetic_percent
                             ? View("place", View(Place(*figure.arithmetic_percent)))
                             : View(false));
  view.set("margin", figure.margin_percent ? View("place", View(Place(*figure.margin_percent)))
                                           : View(false));
  return view;
}

}  // namespace

View BallastView(const Document& document) {
  if (document.by_ballast.empty()) {
    return View(false);
  }
  ViewList bars;
  for (const BallastFigure& figure : document.by_ballast) {
    bars.emplace_back(BarOf(figure));
  }
  View view("bars", View(bars));
  view.set("part", ToView(ExtraLoadPart(document)));
  return view;
}

}  // namespace report
