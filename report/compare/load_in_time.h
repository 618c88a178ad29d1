// SPDX-License-Identifier: Apache-2.0
//
// Series of one-second windows that a stored result holds, by what they are of.

#pragma once

#include <string>
#include <vector>

#include "report/compare/figures.h"

namespace report {

struct WindowSeries {
  std::string group;
  std::string what;
  std::string item;
  std::string unit;
  Better better = Better::kHigher;
  std::vector<double> values;
};

/// CPU in use, full-speed run, encoders and writers by output, disks; windows of the warm-up and a
/// last one that was cut short left out.
std::vector<WindowSeries> SeriesOf(const Evidence& evidence);

/// Windows of the full-speed run, its start left out.
std::vector<double> SpeedWindows(const bench::Results& results);

/// Frames dropped in each judged second, of all outputs and at capture, each counted once.
std::vector<double> DroppedBySecond(const Evidence& evidence);

/// Outages: runs of seconds in which frames were dropped.
std::int64_t CountOutages(const std::vector<double>& dropped_by_second);

}  // namespace report
