// SPDX-License-Identifier: Apache-2.0
//
// What was measured, on the report page: the rehearsal, the extra load, the writing tests.

#include <algorithm>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "report/headroom/ballast_figures.h"
#include "report/show/html/charts.h"
#include "report/show/html/evidence.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/show/rows/disk.h"
#include "report/show/rows/extra_load.h"
#include "report/show/rows/rehearsal.h"

namespace report {

View RehearsalView(const Document& document) {
  View view("ran", View(document.evidence.results.rehearsal.has_value()));
  view.set("found_over_time", FindingsAt(document, ReportPart::kOverTime));
  view.set("found_drops", FindingsAt(document, ReportPart::kDrops));
  view.set("ledger", ToView(LedgerPart(document)));
  view.set("lateness", ToView(LatenessPart(document)));
  view.set("dropped", ToView(DropsPart(document)));
  view.set("costs", ToView(CostPart(document)));
  return view;
}

// Headroom measured with extra load: each interval as a bar above the table.

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

// Writing tests: in words, and drawn over time.

View DiskView(const Document& document) {
  const std::vector<bench::DiskRun>& disks = document.evidence.results.disks;
  const std::vector<Chart> charts = DiskCharts(document);
  ViewList list;
  for (std::size_t index = 0; index < disks.size(); ++index) {
    View view = ToView(DiskPart(disks[index]));
    view.set("disk_chart", charts[index].series.front().values.empty()
                               ? View(false)
                               : ToView(std::vector<Chart>{charts[index]}));
    list.emplace_back(view);
  }
  View view = SectionOf("folders", list);
  if (!list.empty()) {
    view.set("found", FindingsAt(document, ReportPart::kDiskRun));
  }
  return view;
}

}  // namespace report
