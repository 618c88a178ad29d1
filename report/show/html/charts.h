// SPDX-License-Identifier: Apache-2.0
//
// Charts over time as data: thinned to what a page can show, with a table that stands in for each.

#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "report/data/document.h"
#include "report/show/html/pieces.h"

namespace report {

/// One value for each step; nothing where nothing was read.
using Trace = std::vector<std::optional<double>>;

/// How a trace is drawn, so that grey paper still tells them apart.
enum class Pen { kSolid, kDashed, kDotted, kBars };

struct Series {
  std::string label;  // ours, never a stranger's
  Pen pen = Pen::kSolid;
  Trace values;
};

/// A line across (at `at` of the y axis) or up (of the x axis) with a word beside it.
struct Guide {
  double at = 0;
  std::string label;
};

struct Chart {
  std::string id;         // ours: "chart-output-0"
  std::string title;      // may hold a stranger's name: shown by the template only
  std::string unit;       // of the y axis, with the step when thinned
  double step_s = 1;      // x distance of two values
  double shade_to_s = 0;  // warm-up, not judged
  std::vector<Series> series;
  std::vector<Guide> levels;
  std::vector<Guide> moments;
  Table table;
};

/// Most values in one trace; each output gets its share of the page.
std::size_t MostPoints(std::size_t charts);

/// Means of `factor` neighbours; the last may be of fewer.
Trace Thin(const Trace& values, std::size_t factor);

std::vector<Chart> OutputCharts(const Document& document);
/// CPU use and disk writing as sampled; empty without telemetry.
std::vector<Chart> MachineCharts(const Document& document);
/// Speed of the full-speed run; empty when there was none.
std::vector<Chart> FlatOutCharts(const Document& document);
/// One for each folder that was written to.
std::vector<Chart> DiskCharts(const Document& document);

/// Places of charts, for the partial "charts"; false when there are none.
View ToView(const std::vector<Chart>& charts);

}  // namespace report
