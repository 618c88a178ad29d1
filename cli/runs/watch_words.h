// SPDX-License-Identifier: Apache-2.0
//
// What a watch says: while it runs, and at its end.

#pragma once

#include <string>
#include <vector>

#include "probes/sampling/watch_run.h"

namespace cli {

/// "program (812), the busiest"; says so when there is none.
std::string WatchedProgram(const probes::WatchState& state);

/// Two lines for a terminal, neither wider than `columns`.
std::vector<std::string> WatchView(const probes::WatchState& state, int columns);

/// One line for a log of its own.
std::string WatchLine(const probes::WatchState& state);

/// What the watch itself took.
struct WatchCost {
  double seconds = 0;
  double cpu_seconds = 0;
  double memory_bytes = 0;  // at most, resident
};

/// At the end, for people and for programs.
std::string WatchSummaryText(const probes::WatchState& state, const std::string& log,
                             const WatchCost& cost);
std::string WatchSummaryJson(const probes::WatchState& state, const std::string& log,
                             const WatchCost& cost);

}  // namespace cli
