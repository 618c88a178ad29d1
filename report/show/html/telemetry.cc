// SPDX-License-Identifier: Apache-2.0
//
// Charts of what the sampler wrote down: CPU use and disk writing.

#include <algorithm>
#include <cmath>
#include <functional>

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/html/charts.h"

namespace report {

namespace {

using probes::TelemetrySample;

constexpr std::size_t kMostSteps = 1200;
constexpr std::size_t kTableRows = 20;
constexpr double kBytesPerMegabyte = 1e6;

/// Samples sorted into steps of equal time.
struct Steps {
  double step_s = 1;
  std::vector<std::vector<const TelemetrySample*>> samples;
};

Steps SortIntoSteps(const std::vector<TelemetrySample>& samples, std::size_t most) {
  double end_s = 0;
  for (const TelemetrySample& sample : samples) {
    end_s = std::isfinite(sample.at_s) ? std::max(end_s, sample.at_s) : end_s;
  }
  Steps steps;
  steps.step_s = std::max(1.0, std::ceil(end_s / static_cast<double>(most)));
  const auto count = static_cast<std::size_t>(std::floor(end_s / steps.step_s)) + 1;
  steps.samples.resize(std::min(count, most + 1));
  for (const TelemetrySample& sample : samples) {
    if (std::isfinite(sample.at_s) && sample.at_s >= 0) {
      const auto step = static_cast<std::size_t>(std::floor(sample.at_s / steps.step_s));
      steps.samples.at(std::min(step, steps.samples.size() - 1)).push_back(&sample);
    }
  }
  return steps;
}

using Value = std::function<std::optional<double>(const TelemetrySample&)>;

std::optional<double> MeanOf(const std::vector<const TelemetrySample*>& samples,
                             const Value& value) {
  double sum = 0;
  int known = 0;
  for (const TelemetrySample* sample : samples) {
    if (const std::optional<double> one = value(*sample)) {
      sum += *one;
      ++known;
    }
  }
  return known > 0 ? std::optional<double>(sum / known) : std::nullopt;
}

Trace TraceOf(const Steps& steps, const Value& value) {
  Trace trace;
  trace.reserve(steps.samples.size());
  for (const auto& samples : steps.samples) {
    trace.push_back(MeanOf(samples, value));
  }
  return trace;
}

std::optional<double> Own(const TelemetrySample& sample) {
  return sample.own_cpus;
}
std::optional<double> Others(const TelemetrySample& sample) {
  return sample.OtherCpus();
}
std::optional<double> Steal(const TelemetrySample& sample) {
  return sample.steal_cpus;
}
std::optional<double> Written(const TelemetrySample& sample) {
  if (!sample.disk_write_bytes_per_second) {
    return std::nullopt;
  }
  return *sample.disk_write_bytes_per_second / kBytesPerMegabyte;
}

/// Rows of means, one column for each value, in the words of its unit.
struct TableColumn {
  std::string name;
  std::string unit;
  Value value;
};

Table SampleTable(const std::string& caption, const std::vector<TelemetrySample>& samples,
                  const std::vector<TableColumn>& columns) {
  Table table{caption, {{"Stretch", false}}, {}};
  for (const TableColumn& column : columns) {
    table.columns.push_back({column.name, true});
  }
  const Steps steps = SortIntoSteps(samples, kTableRows);
  for (std::size_t index = 0; index < steps.samples.size(); ++index) {
    if (steps.samples[index].empty()) {
      continue;
    }
    const auto from = static_cast<double>(index);
    std::vector<Cell> row{{fmt::format("{} to {} s", FormatNumber(from * steps.step_s),
                                       FormatNumber((from + 1) * steps.step_s))}};
    for (const TableColumn& column : columns) {
      const std::optional<double> mean = MeanOf(steps.samples[index], column.value);
      row.push_back({mean ? FormatQuantity(*mean, column.unit) : std::string("not read")});
    }
    table.rows.push_back(std::move(row));
  }
  return table;
}

Chart CpuChart(const Document& document, const Steps& steps) {
  const auto& samples = document.evidence.telemetry->samples;
  Chart chart;
  chart.id = "chart-cpu";
  chart.title = "CPU use";
  chart.step_s = steps.step_s;
  chart.unit = fmt::format("CPUs busy, mean of each {:g} s", steps.step_s);
  chart.series = {{"the rehearsal", Pen::kSolid, TraceOf(steps, Own)},
                  {"other programs", Pen::kDashed, TraceOf(steps, Others)},
                  {"taken by the host", Pen::kDotted, TraceOf(steps, Steal)}};
  if (document.evidence.inventory.cpu.usable_cpus) {
    chart.levels = {{*document.evidence.inventory.cpu.usable_cpus, "all CPUs"}};
  }
  chart.table =
      SampleTable("CPUs busy and pressure in each stretch", samples,
                  {{"Rehearsal", "", Own},
                   {"Other programs", "", Others},
                   {"Taken by the host", "", Steal},
                   {"Clock", "MHz", [](const TelemetrySample& sample) { return sample.mean_mhz; }},
                   {"Waiting for CPU", "%",
                    [](const TelemetrySample& sample) { return sample.cpu_pressure_percent; }},
                   {"Waiting for memory", "%",
                    [](const TelemetrySample& sample) { return sample.memory_pressure_percent; }}});
  return chart;
}

Chart DiskWriteChart(const Document& document, const Steps& steps) {
  const auto& samples = document.evidence.telemetry->samples;
  Chart chart;
  chart.id = "chart-disk-write";
  chart.title = "Written to disk";
  chart.step_s = steps.step_s;
  chart.unit = fmt::format("MB/s, mean of each {:g} s", steps.step_s);
  chart.series = {{"written", Pen::kSolid, TraceOf(steps, Written)}};
  const double needed = document.evidence.demand.disk_bytes_per_second / kBytesPerMegabyte;
  if (needed > 0) {
    chart.levels = {{needed, "needed"}};
  }
  chart.table = SampleTable(
      "Disk writing in each stretch", samples,
      {{"Written", "B/s",
        [](const TelemetrySample& sample) { return sample.disk_write_bytes_per_second; }},
       {"Not yet written", "B", [](const TelemetrySample& sample) { return sample.dirty_bytes; }},
       {"Waiting for disk", "%",
        [](const TelemetrySample& sample) { return sample.io_pressure_percent; }}});
  return chart;
}

}  // namespace

std::vector<Chart> MachineCharts(const Document& document) {
  const auto& telemetry = document.evidence.telemetry;
  if (!telemetry || telemetry->samples.empty()) {
    return {};
  }
  const Steps steps = SortIntoSteps(telemetry->samples, kMostSteps);
  std::vector<Chart> charts{CpuChart(document, steps)};
  const bool any_written = std::any_of(
      telemetry->samples.begin(), telemetry->samples.end(),
      [](const TelemetrySample& sample) { return sample.disk_write_bytes_per_second.has_value(); });
  if (any_written) {
    charts.push_back(DiskWriteChart(document, steps));
  }
  return charts;
}

}  // namespace report
