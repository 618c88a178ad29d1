// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <cstddef>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/cpu/content_cost.h"
#include "report/show/terminal/sections.h"
#include "report/show/terminal/table.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr std::size_t kMostDropRuns = 5;
constexpr std::size_t kMostChoices = 12;

Piece Lost(std::int64_t frames, Tone tone) {
  return {FormatCount(frames), frames > 0 ? tone : Tone::kPlain};
}

void PutOutputs(TerminalPage& page, const bench::Rehearsal& rehearsal) {
  TerminalTable table;
  table.columns = {{"output", false, 10}, {"due", true},  {"delivered", true},
                   {"dropped", true},     {"late", true}, {"p99 lateness", true},
                   {"encoder", false, 10}};
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    table.rows.push_back({{output.name},
                          {FormatCount(output.due)},
                          {FormatCount(output.delivered)},
                          Lost(output.dropped, Tone::kStop),
                          Lost(output.late, Tone::kWarn),
                          {FormatNumber(output.lateness.p99_ms) + " ms"},
                          {output.encoder}});
  }
  PutTable(page, 2, table);
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    if (!output.failure.empty()) {
      page.Beside(2, {"ended"}, 7, {output.name + ": " + output.failure});
    }
  }
}

void PutFeedDrops(TerminalPage& page, const bench::Rehearsal& rehearsal) {
  for (const bench::FeedLedger& feed : rehearsal.feeds) {
    if (feed.dropped > 0) {
      page.Paragraph(2, {fmt::format("Feed {}: {} of {} frames found their queue full.", feed.name,
                                     FormatCount(feed.dropped), FormatCount(feed.due))});
    }
  }
}

void PutDropRuns(TerminalPage& page, const bench::Rehearsal& rehearsal) {
  const std::size_t shown = std::min(rehearsal.drops.size(), kMostDropRuns);
  for (std::size_t i = 0; i < shown; ++i) {
    const bench::DropRun& run = rehearsal.drops[i];
    page.Beside(2, {"lost"}, 7,
                {fmt::format("{} of {} at {} in the stage {}; cause: {}",
                             Plural(run.frames, "frame"), run.output, base::FormatSeconds(run.at_s),
                             base::WordOf(run.stage), run.cause)});
  }
  const std::int64_t more =
      static_cast<std::int64_t>(rehearsal.drops.size() - shown) + rehearsal.drop_runs_left_out;
  if (more > 0) {
    page.Beside(2, {""}, 7, {fmt::format("and {}", Plural(more, "further run"))});
  }
}

void PutChoices(TerminalPage& page, const bench::Rehearsal& rehearsal) {
  const std::size_t shown = std::min(rehearsal.plan.size(), kMostChoices);
  for (std::size_t i = 0; i < shown; ++i) {
    page.Beside(2, {i == 0 ? "plan" : ""}, 7, {rehearsal.plan[i]});
  }
  if (rehearsal.plan.size() > shown) {
    page.Beside(2, {""}, 7,
                {fmt::format("and {} in the report",
                             Plural(static_cast<std::int64_t>(rehearsal.plan.size() - shown),
                                    "further choice"))});
  }
}

}  // namespace

void PutRehearsal(TerminalPage& page, const Document& document) {
  const auto& rehearsal = document.evidence.results.rehearsal;
  if (!rehearsal) {
    return;
  }
  if (rehearsal->outputs.empty()) {
    page.Heading("Rehearsal");
    page.Paragraph(2, {"It could not start: " + rehearsal->stopped_because});
    return;
  }
  page.Heading("Rehearsal, " + base::FormatSeconds(rehearsal->seconds) + " in real time");
  PutOutputs(page, *rehearsal);
  PutFeedDrops(page, *rehearsal);
  PutDropRuns(page, *rehearsal);
  PutCauses(page, document);
  PutSteps(page, document);
  PutProof(page, document);
  if (const auto& flat_out = document.evidence.results.flat_out) {
    page.Paragraph(2, {fmt::format("Without waiting for its cameras the same work ran at {} x real "
                                   "time{}.",
                                   FormatNumber(flat_out->speed),
                                   flat_out->complete ? "" : " before it was stopped")});
  }
  for (const std::string& line :
       ContentLines(document.evidence.profile, document.evidence.results.costs)) {
    page.Paragraph(2, {line});
  }
  PutChoices(page, *rehearsal);
}

}  // namespace report
