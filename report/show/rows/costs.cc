// SPDX-License-Identifier: Apache-2.0
//
// CPU time of a run: by stage, of single frames, of other programs.

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "report/cpu/content_cost.h"
#include "report/show/rows/rehearsal.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Table;
using show::When;

std::string Milliseconds(double milliseconds) {
  return FormatNumber(milliseconds) + " ms";
}

Table StageTable(const bench::Rehearsal& rehearsal) {
  Table table{
      "CPU time of each stage over the whole run, an encoder's own threads included; simulate "
      "and sink are the cost of simulating, no part of the production",
      {{"Stage"},
       {"Of"},
       {"Frames", true},
       {"CPU time", true},
       {"A frame", true},
       {"CPUs busy", true}},
      {}};
  table.when = When::kPage;
  std::vector<bench::StageCost> stages = rehearsal.stages;
  std::stable_sort(stages.begin(), stages.end(),
                   [](const bench::StageCost& left, const bench::StageCost& right) {
                     return left.cpu_seconds > right.cpu_seconds;
                   });
  for (const bench::StageCost& stage : stages) {
    table.rows.push_back(
        {{std::string(base::WordOf(stage.stage))},
         {stage.item},
         {FormatCount(stage.frames)},
         {FormatNumber(stage.cpu_seconds) + " s"},
         {stage.frames > 0
              ? Milliseconds(stage.cpu_seconds * 1000 / static_cast<double>(stage.frames))
              : std::string("no frame")},
         {rehearsal.seconds > 0 ? FormatNumber(stage.cpu_seconds / rehearsal.seconds)
                                : std::string("not known")}});
  }
  return table;
}

Table CostTableOf(const bench::CostTable& costs) {
  Table table{
      "What one frame costs when its stage runs by itself",
      {{"Stage"}, {"Picture"}, {"CPU time", true}, {"Wall time", true}, {"Frames timed", true}},
      {}};
  table.when = When::kPage;
  for (const bench::CostEntry& entry : costs.entries) {
    table.rows.push_back({{std::string(base::WordOf(entry.stage))},
                          {entry.detail},
                          {Milliseconds(entry.cpu_ms)},
                          {Milliseconds(entry.wall_ms)},
                          {FormatCount(entry.iterations)}});
  }
  return table;
}

show::Facts TelemetryFacts(const probes::TelemetryRecord& telemetry) {
  show::Facts facts;
  facts.Add("Sampled every",
            base::FormatSeconds(telemetry.period_s) + ", which itself took " +
                base::FormatSeconds(telemetry.cost_cpu_seconds) + " of CPU time",
            When::kPage);
  facts.Add("Slowed by heat or power",
            telemetry.throttle_events ? Plural(*telemetry.throttle_events, "time")
                                      : std::string("not read"),
            When::kPage);
  facts.Add("Held back by a quota",
            telemetry.quota_throttled_seconds
                ? base::FormatSeconds(*telemetry.quota_throttled_seconds)
                : std::string("not read"),
            When::kPage);
  return facts;
}

Table OthersTable(const probes::TelemetryRecord& telemetry) {
  Table table{"Busiest other programs while it ran",
              {{"Program"}, {"Process", true}, {"CPU time", true}},
              {}};
  table.when = When::kPage;
  for (const probes::ProcessShare& other : telemetry.others) {
    table.rows.push_back(
        {{other.name}, {fmt::format("{}", other.pid)}, {base::FormatSeconds(other.cpu_seconds)}});
  }
  return table;
}

void AddLines(show::Part& part, const std::string& title, const std::vector<std::string>& texts,
              When when) {
  constexpr std::size_t kMostOnTerminal = 12;
  if (texts.empty()) {
    return;
  }
  show::Lines lines;
  lines.first = kMostOnTerminal;
  lines.when = when;
  for (const std::string& text : texts) {
    lines.lines.push_back({text});
  }
  part.blocks.emplace_back(show::Subtitle{title, when});
  part.blocks.emplace_back(std::move(lines));
}

}  // namespace

show::Part CostPart(const Document& document) {
  show::Part part{"What it cost", {}};
  const bench::Results& results = document.evidence.results;
  if (results.rehearsal) {
    part.blocks.emplace_back(StageTable(*results.rehearsal));
    for (const std::string& line : ContentLines(document.evidence.profile, results.costs)) {
      part.blocks.emplace_back(show::Note{{line}});
    }
  }
  if (results.costs) {
    part.blocks.emplace_back(CostTableOf(*results.costs));
    if (!results.costs->failure.empty()) {
      part.blocks.emplace_back(show::Note{
          {"Costs of single frames are unknown: " + results.costs->failure, show::Mark::kUnknown},
          When::kPage});
    }
  }
  if (const auto& telemetry = document.evidence.telemetry) {
    part.blocks.emplace_back(TelemetryFacts(*telemetry));
    part.blocks.emplace_back(OthersTable(*telemetry));
    AddLines(part, "Not sampled", telemetry->not_read, When::kPage);
  }
  if (results.rehearsal) {
    AddLines(part, "Choices made for the run", results.rehearsal->plan, When::kDetails);
  }
  return part;
}

}  // namespace report
