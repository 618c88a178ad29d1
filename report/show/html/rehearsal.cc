// SPDX-License-Identifier: Apache-2.0
//
// The rehearsal's accounts on the report page: ledger, drops, stage costs, what the run was.

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/words.h"
#include "report/cpu/content_cost.h"
#include "report/show/html/evidence.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"

namespace report {

namespace {

constexpr std::size_t kMostDropRows = 200;

std::string Milliseconds(double milliseconds) {
  return FormatNumber(milliseconds) + " ms";
}

Cell TroubleCount(std::int64_t frames) {
  return {FormatCount(frames), frames > 0 ? Mark::kStop : Mark::kNone};
}

Table LedgerTable(const bench::Rehearsal& rehearsal) {
  Table table{"Every frame of every output: due = delivered + dropped",
              {{"Output", false},
               {"Kind", false},
               {"Takes", false},
               {"Due", true},
               {"Delivered", true},
               {"Dropped", true},
               {"Late", true},
               {"Encoder", false},
               {"Encoder busy", true},
               {"Written", true},
               {"Ended", false}},
              {}};
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    table.rows.push_back({{output.name},
                          {std::string(profiles::ToWord(output.kind))},
                          {output.takes},
                          {FormatCount(output.due)},
                          {FormatCount(output.delivered)},
                          TroubleCount(output.dropped),
                          {FormatCount(output.late), output.late > 0 ? Mark::kWarn : Mark::kNone},
                          {output.encoder + ", " + Plural(output.encoder_threads, "thread")},
                          {FormatPercent(output.encoder_busy * 100)},
                          {base::FormatBytes(static_cast<double>(output.bytes))},
                          {output.failure.empty() ? std::string("with the run") : output.failure,
                           output.failure.empty() ? Mark::kNone : Mark::kStop}});
  }
  return table;
}

Table LatenessTable(const bench::Rehearsal& rehearsal) {
  Table table{
      "How late delivered frames were: half, 95 and 99 of 100 frames were at most this late",
      {{"Output", false},
       {"Half", true},
       {"95 %", true},
       {"99 %", true},
       {"Worst", true},
       {"Dropped in warm-up", true},
       {"Encoder holds back", true}},
      {}};
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    table.rows.push_back({{output.name},
                          {Milliseconds(output.lateness.p50_ms)},
                          {Milliseconds(output.lateness.p95_ms)},
                          {Milliseconds(output.lateness.p99_ms)},
                          {Milliseconds(output.lateness.max_ms)},
                          {FormatCount(output.warm_up_dropped)},
                          {Plural(output.encoder_delay_frames, "frame")}});
  }
  return table;
}

Table FeedTable(const bench::Rehearsal& rehearsal) {
  Table table{"Frames of each simulated source at its capture queue",
              {{"Source", false},
               {"Due", true},
               {"Delivered", true},
               {"Dropped", true},
               {"Picture ring", true},
               {"Prepared in", true}},
              {}};
  for (const bench::FeedLedger& feed : rehearsal.feeds) {
    table.rows.push_back({{feed.name},
                          {FormatCount(feed.due)},
                          {FormatCount(feed.delivered)},
                          TroubleCount(feed.dropped),
                          {base::FormatBytes(static_cast<double>(feed.ring_bytes))},
                          {base::FormatSeconds(feed.prepare_seconds)}});
  }
  return table;
}

Table DropTable(const bench::Rehearsal& rehearsal) {
  Table table{
      "Drops: consecutive frames of one output with one reason",
      {{"At", true}, {"Output", false}, {"Frames", true}, {"Stage", false}, {"Cause", false}},
      {}};
  for (const bench::DropRun& drop : rehearsal.drops) {
    if (table.rows.size() == kMostDropRows) {
      break;
    }
    table.rows.push_back({{fmt::format("{:.2f} s", drop.at_s)},
                          {drop.output},
                          {FormatCount(drop.frames)},
                          {std::string(base::WordOf(drop.stage))},
                          {drop.cause}});
  }
  return table;
}

Table StageTable(const bench::Rehearsal& rehearsal) {
  Table table{
      "CPU time of each stage over the whole run, an encoder's own threads included; simulate "
      "and sink are the cost of simulating, no part of the production",
      {{"Stage", false},
       {"Of", false},
       {"Frames", true},
       {"CPU time", true},
       {"A frame", true},
       {"CPUs busy", true}},
      {}};
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
  Table table{"What one frame costs when its stage runs by itself",
              {{"Stage", false},
               {"Picture", false},
               {"CPU time", true},
               {"Wall time", true},
               {"Frames timed", true}},
              {}};
  for (const bench::CostEntry& entry : costs.entries) {
    table.rows.push_back({{std::string(base::WordOf(entry.stage))},
                          {entry.detail},
                          {Milliseconds(entry.cpu_ms)},
                          {Milliseconds(entry.wall_ms)},
                          {FormatCount(entry.iterations)}});
  }
  return table;
}

View RunFacts(const bench::Rehearsal& rehearsal) {
  show::Facts facts;
  facts.Add("Ran for", base::FormatSeconds(rehearsal.seconds) + ", the first " +
                           base::FormatSeconds(rehearsal.warm_up_seconds) +
                           " of it warm-up that is not judged");
  facts.Add("Ended",
            rehearsal.complete ? std::string("complete") : "early: " + rehearsal.stopped_because);
  facts.Add("Drops an hour, at most",
            rehearsal.seconds > rehearsal.warm_up_seconds
                ? FormatAtMost(rehearsal.drops_per_hour_upper_95) + " (95 % sure)"
                : std::string("not known: nothing after the warm-up"));
  facts.Add("CPU time", base::FormatSeconds(rehearsal.cpu_seconds));
  facts.Add("Largest memory",
            rehearsal.peak_resident_bytes > 0
                ? base::FormatBytes(static_cast<double>(rehearsal.peak_resident_bytes))
                : std::string("not read"));
  facts.Add("File data", rehearsal.writeback_policy);
  return ToView(facts);
}

std::string DropsLeftOut(const bench::Rehearsal& rehearsal) {
  const auto kept = static_cast<std::int64_t>(rehearsal.drops.size());
  const auto shown = std::min<std::int64_t>(kept, kMostDropRows);
  const std::int64_t left_out = kept - shown + rehearsal.drop_runs_left_out;
  return left_out == 0 ? std::string() : Plural(left_out, "further run") + " of drops not shown.";
}

Table OthersTable(const std::optional<probes::TelemetryRecord>& telemetry) {
  Table table{"Busiest other programs while it ran",
              {{"Program", false}, {"Process", true}, {"CPU time", true}},
              {}};
  if (telemetry) {
    for (const probes::ProcessShare& other : telemetry->others) {
      table.rows.push_back(
          {{other.name}, {fmt::format("{}", other.pid)}, {base::FormatSeconds(other.cpu_seconds)}});
    }
  }
  return table;
}

View TelemetryFacts(const probes::TelemetryRecord& telemetry) {
  show::Facts facts;
  facts.Add("Sampled every", base::FormatSeconds(telemetry.period_s) + ", which itself took " +
                                 base::FormatSeconds(telemetry.cost_cpu_seconds) + " of CPU time");
  facts.Add("Slowed by heat or power", telemetry.throttle_events
                                           ? Plural(*telemetry.throttle_events, "time")
                                           : std::string("not read"));
  facts.Add("Held back by a quota", telemetry.quota_throttled_seconds
                                        ? base::FormatSeconds(*telemetry.quota_throttled_seconds)
                                        : std::string("not read"));
  return ToView(facts);
}

}  // namespace

View RehearsalView(const Document& document) {
  const bench::Results& results = document.evidence.results;
  const auto& telemetry = document.evidence.telemetry;
  View view("ran", View(results.rehearsal.has_value()));
  view.set("found_over_time", FindingsAt(document, ReportPart::kOverTime));
  view.set("found_drops", FindingsAt(document, ReportPart::kDrops));
  if (results.rehearsal) {
    const bench::Rehearsal& rehearsal = *results.rehearsal;
    const std::string left_out = DropsLeftOut(rehearsal);
    view.set("run", RunFacts(rehearsal));
    view.set("plan", ToView(rehearsal.plan));
    view.set("has_plan", View(!rehearsal.plan.empty()));
    view.set("ledger", ToView(LedgerTable(rehearsal)));
    view.set("lateness", ToView(LatenessTable(rehearsal)));
    view.set("feeds", ToView(FeedTable(rehearsal)));
    view.set("drops", ToView(DropTable(rehearsal)));
    PutCauses(document, view);
    view.set("no_drops", View(rehearsal.drops.empty() && left_out.empty()));
    view.set("drops_left_out", left_out.empty() ? View(false) : View(left_out));
    view.set("stages", ToView(StageTable(rehearsal)));
  }
  view.set("telemetry", telemetry ? TelemetryFacts(*telemetry) : View(false));
  view.set("not_read", telemetry ? ToView(telemetry->not_read) : View(false));
  view.set("has_not_read", View(telemetry && !telemetry->not_read.empty()));
  view.set("others", ToView(OthersTable(telemetry)));
  view.set("costs", results.costs ? ToView(CostTableOf(*results.costs)) : View(false));
  view.set("content", results.rehearsal
                          ? ToView(ContentLines(document.evidence.profile, results.costs))
                          : View(false));
  view.set("costs_failure", results.costs && !results.costs->failure.empty()
                                ? View(results.costs->failure)
                                : View(false));
  return view;
}

}  // namespace report
