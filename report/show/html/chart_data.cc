// SPDX-License-Identifier: Apache-2.0
//
// How charts reach the page: places for the template, numbers for the script.

#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "report/show/html/charts.h"
#include "report/show/html/sections.h"

namespace report {

namespace {

using Json = nlohmann::ordered_json;

std::string PenWord(Pen pen) {
  switch (pen) {
    case Pen::kDashed:
      return "dashed";
    case Pen::kDotted:
      return "dotted";
    case Pen::kBars:
      return "bars";
    case Pen::kSolid:
      break;
  }
  return "solid";
}

/// Hundredths are finer than a pixel; NaN and infinity are gaps.
Json Rounded(const std::optional<double>& value) {
  if (!value || !std::isfinite(*value)) {
    return nullptr;
  }
  const double hundredths = std::round(*value * 100);
  if (std::abs(hundredths) < 1e15 && std::fmod(hundredths, 100) == 0) {
    return static_cast<std::int64_t>(hundredths / 100);
  }
  return hundredths / 100;
}

/// Value, times it repeats, value, times ...: most seconds are like their neighbours.
Json RunLengths(const Trace& values) {
  Json runs = Json::array();
  Json last;
  std::int64_t repeats = 0;
  for (const std::optional<double>& value : values) {
    Json next = Rounded(value);
    if (repeats > 0 && next == last) {
      ++repeats;
      continue;
    }
    if (repeats > 0) {
      runs.push_back(last);
      runs.push_back(repeats);
    }
    last = std::move(next);
    repeats = 1;
  }
  if (repeats > 0) {
    runs.push_back(last);
    runs.push_back(repeats);
  }
  return runs;
}

Json GuidesJson(const std::vector<Guide>& guides) {
  Json list = Json::array();
  for (const Guide& guide : guides) {
    if (std::isfinite(guide.at)) {
      list.push_back({{"at", Rounded(guide.at)}, {"label", guide.label}});
    }
  }
  return list;
}

Json ChartJson(const Chart& chart) {
  Json series = Json::array();
  for (const Series& one : chart.series) {
    series.push_back(
        {{"label", one.label}, {"pen", PenWord(one.pen)}, {"runs", RunLengths(one.values)}});
  }
  return {{"id", chart.id},
          {"step", chart.step_s},
          {"shade", chart.shade_to_s},
          {"series", series},
          {"levels", GuidesJson(chart.levels)},
          {"moments", GuidesJson(chart.moments)}};
}

}  // namespace

View ToView(const std::vector<Chart>& charts) {
  ViewList places;
  for (const Chart& chart : charts) {
    ViewList keys;
    for (const Series& series : chart.series) {
      View key("key_label", View(series.label));
      key.set("key_pen", View(PenWord(series.pen)));
      keys.emplace_back(key);
    }
    View view("chart_id", View(chart.id));
    view.set("chart_title", View(chart.title));
    view.set("chart_unit", View(chart.unit));
    view.set("keys", View(keys));
    view.set("shaded", View(chart.shade_to_s > 0));
    view.set("table", ToView(chart.table));
    places.emplace_back(view);
  }
  return SectionOf("places", places);
}

View ChartsView(const Document& document) {
  View view("outputs", ToView(OutputCharts(document)));
  view.set("machine", ToView(MachineCharts(document)));
  view.set("flat_out", ToView(FlatOutCharts(document)));
  return view;
}

std::string ChartsJson(const Document& document) {
  Json charts = Json::array();
  for (const auto& group : {OutputCharts(document), MachineCharts(document),
                            FlatOutCharts(document), DiskCharts(document)}) {
    for (const Chart& chart : group) {
      charts.push_back(ChartJson(chart));
    }
  }
  return ForScriptElement(charts);
}

}  // namespace report
