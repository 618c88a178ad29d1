// SPDX-License-Identifier: Apache-2.0
//
// The costs program run as a child, and what it answers.

#pragma once

#include <filesystem>
#include <stop_token>
#include <string_view>

#include "base/result.h"
#include "bench/data/results.h"

namespace bench {

/// The JSON of Google Benchmark's reporter: names "stage/detail", times in any
/// of its units. Runs that failed are left out and the first of them is told
/// in `failure`. kMalformed when it is no such JSON or holds no run at all.
base::Result<CostTable> ParseCosts(std::string_view json_text);

/// Runs `program` on `profile` (a file, or the name of a starter), each stage
/// for at least `min_time_s`. A program that is missing, ends badly, takes too
/// long or answers nonsense gives a table with `failure` set; so do stages that were not begun
/// within `budget_s` (0: no such limit), beside the entries of those that were.
CostTable RunCostsProgram(const std::filesystem::path& program,
                          const std::filesystem::path& profile, double min_time_s,
                          const std::stop_token& stop = {}, int budget_s = 0);

}  // namespace bench
