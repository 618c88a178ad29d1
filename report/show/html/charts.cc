// SPDX-License-Identifier: Apache-2.0
//
// Charts over time as data: frames of each output, speed of the full-speed run, sustained writing.

#include "report/show/html/charts.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "report/show/html/sections.h"

namespace report {
namespace {

constexpr std::size_t kPointsOfPage = 9600;
constexpr std::size_t kMostPointsOfChart = 1200;
constexpr std::size_t kFewestPointsOfChart = 60;
constexpr std::size_t kTableRows = 20;
constexpr double kBytesPerMegabyte = 1e6;

std::size_t FactorFor(std::size_t values, std::size_t most) {
  return std::max<std::size_t>(1, (values + most - 1) / most);
}

/// "0 s to 3 s" for entries [first, last) of a trace.
std::string Span(std::size_t first, std::size_t last, double step_s) {
  return fmt::format("{} to {} s", FormatNumber(static_cast<double>(first) * step_s),
                     FormatNumber(static_cast<double>(last) * step_s));
}

/// Unit text with the width of a step when values were joined.
std::string PerStep(const std::string& unit, double step_s, std::size_t factor) {
  return factor == 1 ? unit : fmt::format("{}, mean of each {:g} s", unit, step_s);
}

Trace Pick(const std::vector<bench::LedgerWindow>& windows,
           std::int64_t bench::LedgerWindow::*field) {
  Trace trace;
  trace.reserve(windows.size());
  for (const bench::LedgerWindow& window : windows) {
    trace.emplace_back(static_cast<double>(window.*field));
  }
  return trace;
}

Table WindowTable(const std::vector<bench::LedgerWindow>& windows) {
  Table table{
      "Frames in each stretch of the run",
      {{"Stretch", false}, {"Due", true}, {"Delivered", true}, {"Dropped", true}, {"Late", true}},
      {}};
  const std::size_t factor = FactorFor(windows.size(), kTableRows);
  for (std::size_t first = 0; first < windows.size(); first += factor) {
    const std::size_t last = std::min(first + factor, windows.size());
    bench::LedgerWindow sum;
    for (std::size_t index = first; index < last; ++index) {
      sum.due += windows[index].due;
      sum.delivered += windows[index].delivered;
      sum.dropped += windows[index].dropped;
      sum.late += windows[index].late;
    }
    table.rows.push_back({{Span(first, last, 1)},
                          {FormatCount(sum.due)},
                          {FormatCount(sum.delivered)},
                          {FormatCount(sum.dropped), sum.dropped > 0 ? Mark::kStop : Mark::kNone},
                          {FormatCount(sum.late), sum.late > 0 ? Mark::kWarn : Mark::kNone}});
  }
  return table;
}

/// Mean of each stretch of `values`, in `unit`.
Table MeanTable(const std::string& caption, const std::vector<double>& values, double step_s,
                const std::string& unit) {
  Table table{caption, {{"Stretch", false}, {"Mean", true}, {"Lowest", true}}, {}};
  const std::size_t factor = FactorFor(values.size(), kTableRows);
  for (std::size_t first = 0; first < values.size(); first += factor) {
    const std::size_t last = std::min(first + factor, values.size());
    const auto begin = values.begin() + static_cast<std::ptrdiff_t>(first);
    const auto end = values.begin() + static_cast<std::ptrdiff_t>(last);
    const double mean = std::accumulate(begin, end, 0.0) / static_cast<double>(last - first);
    table.rows.push_back({{Span(first, last, step_s)},
                          {FormatQuantity(mean, unit)},
                          {FormatQuantity(*std::min_element(begin, end), unit)}});
  }
  return table;
}

Trace ScaledTrace(const std::vector<double>& values, double divisor) {
  Trace trace;
  trace.reserve(values.size());
  for (const double value : values) {
    trace.emplace_back(value / divisor);
  }
  return trace;
}

}  // namespace

std::size_t MostPoints(std::size_t charts) {
  return std::clamp(kPointsOfPage / std::max<std::size_t>(charts, 1), kFewestPointsOfChart,
                    kMostPointsOfChart);
}

Trace Thin(const Trace& values, std::size_t factor) {
  if (factor <= 1) {
    return values;
  }
  Trace thinned;
  for (std::size_t first = 0; first < values.size(); first += factor) {
    double sum = 0;
    int known = 0;
    for (std::size_t index = first; index < std::min(first + factor, values.size()); ++index) {
      if (values[index]) {
        sum += *values[index];
        ++known;
      }
    }
    thinned.push_back(known > 0 ? std::optional<double>(sum / known) : std::nullopt);
  }
  return thinned;
}

std::vector<Chart> OutputCharts(const Document& document) {
  std::vector<Chart> charts;
  const auto& rehearsal = document.evidence.results.rehearsal;
  if (!rehearsal) {
    return charts;
  }
  for (const bench::OutputLedger& output : rehearsal->outputs) {
    if (output.seconds.empty()) {
      continue;
    }
    const std::size_t factor =
        FactorFor(output.seconds.size(), MostPoints(rehearsal->outputs.size()));
    Chart chart;
    chart.id = fmt::format("chart-output-{}", charts.size());
    chart.title = output.name;
    chart.step_s = static_cast<double>(factor);
    chart.unit = PerStep("frames a second", chart.step_s, factor);
    chart.shade_to_s = rehearsal->warm_up_seconds;
    chart.series = {
        {"delivered", Pen::kSolid,
         Thin(Pick(output.seconds, &bench::LedgerWindow::delivered), factor)},
        {"late", Pen::kDotted, Thin(Pick(output.seconds, &bench::LedgerWindow::late), factor)},
        {"dropped", Pen::kBars, Thin(Pick(output.seconds, &bench::LedgerWindow::dropped), factor)}};
    chart.table = WindowTable(output.seconds);
    charts.push_back(std::move(chart));
  }
  return charts;
}

std::vector<Chart> FlatOutCharts(const Document& document) {
  const auto& flat_out = document.evidence.results.flat_out;
  if (!flat_out || flat_out->window_speeds.empty()) {
    return {};
  }
  const std::vector<double>& speeds = flat_out->window_speeds;
  const double window_s =
      flat_out->seconds > 0 ? flat_out->seconds / static_cast<double>(speeds.size()) : 1;
  const std::size_t factor = FactorFor(speeds.size(), kMostPointsOfChart);
  Chart chart;
  chart.id = "chart-flat-out";
  chart.title = "Speed, as fast as it goes";
  chart.step_s = window_s * static_cast<double>(factor);
  chart.unit = PerStep("times real time", chart.step_s, factor);
  chart.series = {{"speed", Pen::kSolid, Thin(ScaledTrace(speeds, 1), factor)}};
  chart.levels = {{1, "real time"}, {flat_out->speed, "counted on"}};
  chart.table = MeanTable("Speed in each stretch", speeds, window_s, "x real time");
  return {chart};
}

std::vector<Chart> DiskCharts(const Document& document) {
  std::vector<Chart> charts;
  for (const bench::DiskRun& disk : document.evidence.results.disks) {
    const std::vector<double>& rates = disk.window_bytes_per_second;
    const std::size_t factor = FactorFor(rates.size(), kMostPointsOfChart);
    Chart chart;
    chart.id = fmt::format("chart-disk-{}", charts.size());
    chart.title = disk.folder;
    chart.step_s =
        (disk.window_seconds > 0 ? disk.window_seconds : 1) * static_cast<double>(factor);
    chart.unit = PerStep("MB/s written", chart.step_s, factor);
    chart.series = {{"written", Pen::kSolid, Thin(ScaledTrace(rates, kBytesPerMegabyte), factor)}};
    chart.levels = {{disk.sustained_bytes_per_second / kBytesPerMegabyte, "available"}};
    if (disk.step_at_s) {
      chart.moments = {{*disk.step_at_s, "step"}};
    }
    chart.table = MeanTable("Rate in each stretch", rates,
                            disk.window_seconds > 0 ? disk.window_seconds : 1, "B/s");
    charts.push_back(std::move(chart));
  }
  return charts;
}

// How charts reach the page: places for the template, numbers for the script.

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
