// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/rehearsal.h"

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/words.h"
#include "report/show/rows/production.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Cell;
using show::Mark;
using show::Table;
using show::When;

constexpr std::size_t kMostDropRows = 200;
constexpr std::size_t kMostOnTerminal = 5;

std::string Milliseconds(double milliseconds) {
  return FormatNumber(milliseconds) + " ms";
}

Cell TroubleCount(std::int64_t frames, Mark mark = Mark::kStop) {
  return {FormatCount(frames), frames > 0 ? mark : Mark::kNone};
}

std::string InLines(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) {
    text += (text.empty() ? "" : "; ") + line;
  }
  return text;
}

Table LedgerTable(const bench::Rehearsal& rehearsal) {
  Table table{"Every frame of every output: due = delivered + dropped",
              {{"Output", false, false, 10},
               {"Kind", false, false, 8, When::kPage},
               {"Input", false, false, 8, When::kPage},
               {"Due", true},
               {"Delivered", true},
               {"Dropped", true},
               {"Late", true},
               {"99 % within", true},
               {"Encoder", false, false, 10},
               {"Threads", true, false, 8, When::kPage},
               {"Encoder busy", true, false, 8, When::kPage},
               {"Written", true, false, 8, When::kPage}},
              {}};
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    table.rows.push_back({{output.name},
                          {std::string(profiles::ToWord(output.kind))},
                          {InputText(output.takes)},
                          {FormatCount(output.due)},
                          {FormatCount(output.delivered)},
                          TroubleCount(output.dropped),
                          TroubleCount(output.late, Mark::kWarn),
                          {Milliseconds(output.lateness.p99_ms)},
                          {output.encoder},
                          {FormatCount(output.encoder_threads)},
                          {FormatPercent(output.encoder_busy * 100)},
                          {base::FormatBytes(static_cast<double>(output.bytes))}});
  }
  return table;
}

/// What the table counts and the verdict does not.
show::Lines InWarmUp(const bench::Rehearsal& rehearsal) {
  show::Lines lines;
  std::int64_t dropped = 0;
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    dropped += output.warm_up_dropped;
  }
  if (dropped > 0) {
    lines.lines.push_back(
        {fmt::format("Dropped in the warm-up, the first {}: {}, counted above and not judged",
                     base::FormatSeconds(rehearsal.warm_up_seconds), FormatCount(dropped))});
  }
  return lines;
}

show::Lines Failures(const bench::Rehearsal& rehearsal) {
  show::Lines lines;
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    if (!output.failure.empty()) {
      lines.lines.push_back({output.name + " ended: " + output.failure, Mark::kStop});
    }
  }
  return lines;
}

show::Facts RunFacts(const bench::Rehearsal& rehearsal) {
  show::Facts facts;
  facts.Add("Ran for",
            base::FormatSeconds(rehearsal.seconds) + ", the first " +
                base::FormatSeconds(rehearsal.warm_up_seconds) +
                " of it warm-up that is not judged",
            When::kPage);
  facts.Add("Ended",
            rehearsal.complete ? std::string("complete") : "early: " + rehearsal.stopped_because,
            rehearsal.complete ? When::kPage : When::kAlways);
  facts.Add("Drops an hour, at most",
            rehearsal.seconds > rehearsal.warm_up_seconds
                ? FormatAtMost(rehearsal.drops_per_hour_upper_95) + " (95 % sure)"
                : std::string("not known: nothing after the warm-up"),
            When::kPage);
  facts.Add("CPU time", base::FormatSeconds(rehearsal.cpu_seconds), When::kPage);
  facts.Add("Largest memory",
            rehearsal.peak_resident_bytes > 0
                ? base::FormatBytes(static_cast<double>(rehearsal.peak_resident_bytes))
                : std::string("not read"),
            When::kPage);
  facts.Add("File data", rehearsal.writeback_policy, When::kPage);
  return facts;
}

Table FeedTable(const bench::Rehearsal& rehearsal) {
  Table table{"Frames of each simulated source at its capture queue",
              {{"Source"},
               {"Due", true},
               {"Delivered", true},
               {"Dropped", true},
               {"Picture ring", true},
               {"Prepared in", true}},
              {}};
  table.when = When::kPage;
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

show::Lines FeedDrops(const bench::Rehearsal& rehearsal) {
  show::Lines lines;
  for (const bench::FeedLedger& feed : rehearsal.feeds) {
    if (feed.dropped > 0) {
      lines.lines.push_back(
          {fmt::format("Source {}: {} of {} frames found their queue full", feed.name,
                       FormatCount(feed.dropped), FormatCount(feed.due))});
    }
  }
  return lines;
}

Table DropTable(const bench::Rehearsal& rehearsal) {
  Table table{"Dropped: consecutive frames of one output for one reason",
              {{"At", true}, {"Output"}, {"Frames", true}, {"Stage"}, {"Cause"}},
              {}};
  table.first = kMostOnTerminal;
  for (const bench::DropRun& drop : rehearsal.drops) {
    if (table.rows.size() == kMostDropRows) {
      break;
    }
    const bool judged = drop.at_s >= rehearsal.warm_up_seconds;
    table.rows.push_back({{fmt::format("{:.2f} s{}", drop.at_s, judged ? "" : ", warm-up")},
                          {drop.output},
                          {FormatCount(drop.frames)},
                          {std::string(base::WordOf(drop.stage))},
                          {drop.cause}});
  }
  return table;
}

std::int64_t DropsLeftOut(const bench::Rehearsal& rehearsal) {
  const auto kept = static_cast<std::int64_t>(rehearsal.drops.size());
  return kept - std::min<std::int64_t>(kept, kMostDropRows) + rehearsal.drop_runs_left_out;
}

Table CauseTable(const Document& document) {
  Table table{"Why frames were dropped: named only where two signs agree then and not otherwise",
              {{"Cause"},
               {"Frames", true},
               {"From", true, false, 8, When::kPage},
               {"To", true, false, 8, When::kPage},
               {"Stages"},
               {"For it", false, true},
               {"Against others", false, true, 8, When::kPage},
               {"What to do", false, true}},
              {}};
  for (const DropCause& cause : document.causes) {
    std::vector<std::string> stages;
    for (const bench::Stage stage : cause.stages) {
      stages.emplace_back(base::WordOf(stage));
    }
    table.rows.push_back({{cause.cause + (cause.detail.empty() ? "" : ", " + cause.detail)},
                          {FormatCount(cause.frames)},
                          {fmt::format("{:.1f} s", cause.first_s)},
                          {fmt::format("{:.1f} s", cause.last_s)},
                          {InLines(stages)},
                          {cause.evidence_for.empty() ? std::string("no two signs agree")
                                                      : InLines(cause.evidence_for)},
                          {InLines(cause.evidence_against)},
                          {cause.action}});
  }
  return table;
}

Table StepTable(const Document& document) {
  Table table{"What got slower during the run and stayed so",
              {{"What"},
               {"At", true},
               {"Before", true},
               {"After", true},
               {"Change", true},
               {"Moved with it", false, true}},
              {}};
  for (const SpeedStep& step : document.steps) {
    table.rows.push_back({{step.series},
                          {fmt::format("{:.0f} s", step.at_s)},
                          {FormatNumber(step.before) + " " + step.unit},
                          {FormatNumber(step.after) + " " + step.unit},
                          {fmt::format("{:+.0f} %", step.change_percent)},
                          {step.moved_with.empty() ? std::string("nothing that was sampled")
                                                   : InLines(step.moved_with)}});
  }
  return table;
}

/// What the run proves of the drops that are allowed.
std::string ProofText(const Document& document, const bench::Rehearsal& rehearsal) {
  const auto text = [](double upper, double allowed) {
    return fmt::format("At 95 % confidence at most {} drops an hour; the profile allows {}",
                       FormatAtMost(upper), FormatNumber(allowed));
  };
  if (!document.proof) {
    return text(rehearsal.drops_per_hour_upper_95,
                document.evidence.profile.margins.allowed_drops_per_hour) +
           ".";
  }
  const DropProof& proof = *document.proof;
  const std::string begins = text(proof.upper_95_per_hour, proof.allowed_per_hour);
  if (proof.proven) {
    return begins + ": proven.";
  }
  if (!proof.seconds_to_prove) {
    return begins + ". No run, however long, proves that none is ever dropped.";
  }
  return begins + fmt::format(". {} without a drop would prove it.",
                              base::FormatSeconds(*proof.seconds_to_prove));
}

}  // namespace

show::Part LedgerPart(const Document& document) {
  const auto& rehearsal = document.evidence.results.rehearsal;
  show::Part part{"Rehearsal", {}};
  if (!rehearsal) {
    return part;
  }
  if (rehearsal->outputs.empty()) {
    part.blocks.emplace_back(
        show::Note{{"It could not start: " + rehearsal->stopped_because, Mark::kStop}});
    return part;
  }
  part.title += ", " + base::FormatSeconds(rehearsal->seconds) + " in real time";
  part.blocks = {RunFacts(*rehearsal), LedgerTable(*rehearsal), InWarmUp(*rehearsal),
                 Failures(*rehearsal)};
  if (const auto& full_speed = document.evidence.results.flat_out) {
    part.blocks.emplace_back(show::Note{{fmt::format(
        "Full-speed run, without waiting for the cameras: the same work at {} x real "
        "time{}.",
        FormatNumber(full_speed->speed), full_speed->complete ? "" : " before it was stopped")}});
  }
  return part;
}

show::Part LatenessPart(const Document& document) {
  const auto& rehearsal = document.evidence.results.rehearsal;
  show::Part part{"Lateness of frames", {}};
  if (!rehearsal) {
    return part;
  }
  Table table{
      "How late delivered frames were: half, 95 and 99 of 100 frames were at most this late",
      {{"Output"},
       {"Half", true},
       {"95 %", true},
       {"99 %", true},
       {"Worst", true},
       {"Dropped in warm-up", true},
       {"Encoder delay (frames)", true}},
      {}};
  table.when = When::kPage;
  for (const bench::OutputLedger& output : rehearsal->outputs) {
    table.rows.push_back({{output.name},
                          {Milliseconds(output.lateness.p50_ms)},
                          {Milliseconds(output.lateness.p95_ms)},
                          {Milliseconds(output.lateness.p99_ms)},
                          {Milliseconds(output.lateness.max_ms)},
                          {FormatCount(output.warm_up_dropped)},
                          {FormatCount(output.encoder_delay_frames)}});
  }
  part.blocks.emplace_back(std::move(table));
  return part;
}

show::Part DropsPart(const Document& document) {
  const auto& rehearsal = document.evidence.results.rehearsal;
  show::Part part{"Dropped frames", {}};
  if (!rehearsal || rehearsal->outputs.empty()) {
    return part;
  }
  const std::int64_t left_out = DropsLeftOut(*rehearsal);
  if (rehearsal->drops.empty() && left_out == 0) {
    part.blocks.emplace_back(show::Note{{"No frame was dropped."}});
  }
  part.blocks.emplace_back(DropTable(*rehearsal));
  if (left_out > 0) {
    part.blocks.emplace_back(
        show::Note{{Plural(left_out, "further run") + " of drops not shown."}});
  }
  part.blocks.emplace_back(FeedDrops(*rehearsal));
  part.blocks.emplace_back(CauseTable(document));
  part.blocks.emplace_back(StepTable(document));
  part.blocks.emplace_back(show::Note{{ProofText(document, *rehearsal)}});
  part.blocks.emplace_back(FeedTable(*rehearsal));
  return part;
}

}  // namespace report
