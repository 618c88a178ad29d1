// SPDX-License-Identifier: Apache-2.0
//
// The headroom section of the report page: one bar for each resource, with its margin marked.

#include "report/show/rows/headroom.h"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "report/show/html/evidence.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"

namespace report {

namespace {

/// Bars run to capacity, or half as far again when one is beyond it.
constexpr double kPlainScale = 100;
constexpr double kOverScale = 150;

/// A share of capacity as a place on the bar, "62.50%".
std::string Place(double percent_of_capacity, double scale) {
  return fmt::format("{:.2f}%", std::clamp(percent_of_capacity / scale * 100, 0.0, 100.0));
}

View BarView(const Headroom& row, double scale) {
  const double used = 100 - row.headroom_percent.value_or(100);
  const double margin_from = std::clamp(100 - row.margin_percent, 0.0, 100.0);
  View view("capacity_place", View(Place(100, scale)));
  view.set("demand_place", View(Place(used, scale)));
  view.set("margin_place", View(Place(margin_from, scale)));
  view.set("reserve_width", View(Place(100 - margin_from, scale)));
  view.set("beyond", View(used > scale));
  return view;
}

/// "CPU", "USB", "Disk": a resource as a heading.
std::string HeadingOf(Resource resource) {
  if (resource == Resource::kCpu || resource == Resource::kUsb || resource == Resource::kPcie) {
    return resource == Resource::kCpu ? "CPU" : (resource == Resource::kUsb ? "USB" : "PCIe");
  }
  std::string name = RowName(resource, "");
  if (!name.empty() && name.front() >= 'a' && name.front() <= 'z') {
    name.front() = static_cast<char>(name.front() - 'a' + 'A');
  }
  return name;
}

View RowView(const Headroom& row, double scale) {
  const HeadroomTexts texts = TextsOf(row, row.unit);
  const bool drawn = texts.standing.mark != Mark::kUnknown;
  View view("resource", View(HeadingOf(row.resource)));
  view.set("item", View(row.item));
  view.set("has_item", View(!row.item.empty()));
  view.set("headroom", View(texts.headroom));
  view.set("mark", View(MarkClass(texts.standing.mark)));
  view.set("sign", View(MarkSign(texts.standing.mark)));
  view.set("standing", View(texts.standing.text));
  view.set("needed", View(texts.needed));
  view.set("available", View(texts.available));
  view.set("margin", View(texts.margin));
  view.set("basis", View(BasisText(row)));
  view.set("source", View(row.source));
  view.set("has_source", View(!row.source.empty()));
  view.set("how_to_prove", View(row.how_to_prove));
  view.set("has_how", View(!row.how_to_prove.empty()));
  view.set("bar", drawn ? BarView(row, scale) : View(false));
  return view;
}

}  // namespace

View HeadroomView(const Document& document) {
  if (document.headroom.empty()) {
    return View(false);
  }
  const bool any_over =
      std::any_of(document.headroom.begin(), document.headroom.end(),
                  [](const Headroom& row) { return row.headroom_percent.value_or(0) < 0; });
  ViewList rows;
  std::set<std::string> anchors{""};
  for (const Headroom& row : document.headroom) {
    View view = RowView(row, any_over ? kOverScale : kPlainScale);
    const std::string anchor = HeadroomAnchor(row.resource);
    const bool first = anchors.insert(anchor).second;  // one place per anchor
    view.set("anchored", View(first));
    view.set("anchor", View(anchor));
    view.set("found", first ? FindingsAt(document, row.resource) : View(false));
    rows.emplace_back(view);
  }
  return View("rows", View(rows));
}

}  // namespace report
