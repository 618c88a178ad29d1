// SPDX-License-Identifier: Apache-2.0

#include "bench/runs/cost_table.h"

#include <cmath>
#include <optional>
#include <string>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/system/subprocess.h"
#include "base/text.h"
#include "bench/runs/cost_subject.h"

namespace bench {
namespace {

using Json = nlohmann::json;

constexpr std::size_t kMostEntries = 1000;
constexpr double kLongestSeconds = 300;
/// A stage that was begun within the budget ends within this.
constexpr double kLongestStageSeconds = 30;

base::Error Malformed(std::string detail) {
  return {base::ErrorKind::kMalformed, "costs", std::move(detail)};
}

std::string TextAt(const Json& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_string() ? base::Printable(found->get<std::string>())
                                                     : "";
}

std::optional<double> NumberAt(const Json& object, const char* key) {
  const auto found = object.find(key);
  if (found == object.end() || !found->is_number()) {
    return std::nullopt;
  }
  const auto value = found->get<double>();
  return std::isfinite(value) && value >= 0 ? std::optional(value) : std::nullopt;
}

std::optional<double> MillisecondsPer(const std::string& unit) {
  if (unit == "ns") {
    return 1e-6;
  }
  if (unit == "us") {
    return 1e-3;
  }
  if (unit == "ms") {
    return 1.0;
  }
  return unit == "s" ? std::optional(1e3) : std::nullopt;
}

/// The library adds how it measured to the name.
std::string WithoutSuffixes(std::string name) {
  for (const std::string_view suffix : {"/real_time", "/process_time"}) {
    if (name.ends_with(suffix)) {
      name.resize(name.size() - suffix.size());
    }
  }
  return name;
}

base::Result<CostEntry> ParseEntry(const Json& run) {
  const std::string name = WithoutSuffixes(TextAt(run, "name"));
  const std::size_t slash = name.find('/');
  const auto stage = slash == std::string::npos
                         ? std::nullopt
                         : base::FromWord<Stage>(std::string_view(name).substr(0, slash));
  if (!stage || *stage == Stage::kNone) {
    return Malformed("found a run named '" + name + "' where stage/detail was expected");
  }
  const auto cpu = NumberAt(run, "cpu_time");
  const auto wall = NumberAt(run, "real_time");
  const auto iterations = NumberAt(run, "iterations");
  const auto scale = MillisecondsPer(TextAt(run, "time_unit"));
  if (!cpu || !wall || !iterations || !scale || *iterations > 1e15) {
    return Malformed(name + ": its times, their unit or its count are not numbers of the kind");
  }
  return CostEntry{*stage,
                   name.substr(slash + 1),
                   *cpu * *scale,
                   *wall * *scale,
                   static_cast<std::int64_t>(*iterations),
                   FromLabel(TextAt(run, "label"))};
}

bool IsTrue(const Json& run, const char* key) {
  const auto found = run.find(key);
  return found != run.end() && found->is_boolean() && found->get<bool>();
}

}  // namespace

base::Result<CostTable> ParseCosts(std::string_view json_text) {
  const Json json = Json::parse(json_text, nullptr, false);
  if (!json.is_object() || !json.contains("benchmarks") || !json["benchmarks"].is_array()) {
    return Malformed("not the JSON of the costs program");
  }
  const Json& runs = json["benchmarks"];
  if (runs.empty() || runs.size() > kMostEntries) {
    return Malformed(fmt::format("{} runs, from 1 to {} are expected", runs.size(), kMostEntries));
  }
  CostTable table;
  int more_failed = 0;
  for (const Json& run : runs) {
    if (!run.is_object()) {
      return Malformed("a run that is no object");
    }
    const std::string type = TextAt(run, "run_type");
    if (!type.empty() && type != "iteration") {
      continue;  // means and deviations over repetitions
    }
    if (IsTrue(run, "error_occurred")) {
      if (table.failure.empty()) {
        table.failure = WithoutSuffixes(TextAt(run, "name")) + ": " + TextAt(run, "error_message");
      } else {
        ++more_failed;
      }
      continue;
    }
    auto entry = ParseEntry(run);
    if (!entry) {
      return entry.error();
    }
    table.entries.push_back(std::move(*entry));
  }
  if (more_failed > 0) {
    table.failure +=
        fmt::format(" (and {} more {})", more_failed, more_failed == 1 ? "stage" : "stages");
  }
  return table;
}

CostTable RunCostsProgram(const std::filesystem::path& program,
                          const std::filesystem::path& profile, double min_time_s,
                          const std::stop_token& stop, int budget_s) {
  base::Command command;
  command.argv = {program.string(), "--profile=" + profile.string(), "--benchmark_format=json",
                  fmt::format("--benchmark_min_time={:.6f}", min_time_s)};
  command.timeout_seconds = kLongestSeconds;
  if (budget_s > 0) {
    command.argv.push_back(fmt::format("--budget-seconds={}", budget_s));
    command.timeout_seconds = budget_s + kLongestStageSeconds;
  }
  CostTable table;
  const auto finished = base::RunProgram(command, stop);
  if (!finished) {
    table.failure = base::Printable(finished.error().where) + ": " + finished.error().detail;
    return table;
  }
  if (!finished->ok()) {
    table.failure = "the costs program: " + base::WhyFailed(*finished);
    return table;
  }
  auto parsed = ParseCosts(finished->out);
  if (!parsed) {
    table.failure = "the costs program answered " + parsed.error().detail;
    return table;
  }
  return std::move(*parsed);
}

}  // namespace bench
