// SPDX-License-Identifier: Apache-2.0
//
// Why recordings lost pictures, as a page: one file that opens offline and has no script.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <kainjow/mustache.hpp>

#include "base/text.h"
#include "report/explain/advice.h"
#include "report/explain/recording.h"
#include "report/page_files.h"
#include "report/show/html/pieces.h"
#include "report/show/html/timeline.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using kainjow::mustache::mustache;
using kainjow::mustache::partial;

constexpr std::size_t kMomentsShown = 200;
constexpr std::size_t kAgainstShown = 6;

struct VerdictLook {
  Mark mark;
  const char* word;
};

VerdictLook LookOf(RecordingVerdict verdict) {
  switch (verdict) {
    case RecordingVerdict::kNothingMissing:
      return {Mark::kGood, "nothing missing"};
    case RecordingVerdict::kPartsMissing:
      return {Mark::kStop, "parts missing"};
    case RecordingVerdict::kUnproven:
      break;
  }
  return {Mark::kUnknown, "unproven"};
}

View CauseView(std::size_t number, const DropCause& cause) {
  const bool known = cause.cause != kCauseNotKnown;
  View view("number", View(std::to_string(number)));
  view.set("mark", View(MarkClass(known ? Mark::kStop : Mark::kUnknown)));
  view.set("cause", View(cause.cause + (cause.detail.empty() ? "" : ", " + cause.detail)));
  view.set("explains", View(Explains(cause)));
  view.set("has_for", View(!cause.evidence_for.empty()));
  view.set("for", ToView(cause.evidence_for));
  std::vector<std::string> against = cause.evidence_against;
  against.resize(std::min(against.size(), kAgainstShown));
  view.set("has_against", View(!against.empty()));
  view.set("against", ToView(against));
  view.set("action", known ? View(cause.action) : View(false));
  return view;
}

View SuspectView(const RecordingSuspect& one) {
  View view("suspect", View(SuspectLine(one)));
  view.set("for", ToView(one.suspect.speaks_for));
  view.set("has_but", View(!one.suspect.not_proven.empty()));
  view.set("but", ToView(one.suspect.not_proven));
  return view;
}

Table MomentTable(const RecordingCase& question, const RecordingExplanation& answer) {
  Table table{"Moments with missing frames",
              {{"At", true},
               {"Length", true},
               {"Missing", true},
               {"In the log", true},
               {"Recording", false},
               {"Cause", false}},
              {}};
  for (const ExplainedMoment& moment : answer.moments) {
    if (table.rows.size() >= kMomentsShown) {
      break;
    }
    table.rows.push_back({{fmt::format("{:.3f} s", moment.at_s)},
                          {LengthText(moment)},
                          {FormatCount(moment.missing)},
                          {moment.log_s ? fmt::format("{:.2f} s", *moment.log_s) : "-"},
                          {question.recordings[moment.recording].recording.name},
                          {moment.explanation.cause}});
  }
  return table;
}

View FactsView(const RecordingCase& question) {
  show::Facts facts;
  for (std::size_t i = 0; i < question.recordings.size(); ++i) {
    const probes::Recording& recording = question.recordings[i].recording;
    facts.Add("Recording",
              fmt::format("{}: {} of {}", recording.name, base::FormatSeconds(recording.length_s),
                          recording.container));
  }
  if (!question.log) {
    facts.AddUnknown("Log of a watch", "none was given");
    return ToView(facts);
  }
  const probes::WatchLog& log = *question.log;
  facts.Add("Log", fmt::format("{}: {} from {}", question.log_name,
                               base::FormatSeconds(std::max(0.0, log.ends_s - log.begins_s)),
                               log.head.began_at));
  facts.Add("Watched program", OrDash(WatchedProgram(log)));
  facts.Add("CPUs", std::to_string(log.head.cpus));
  return ToView(facts);
}

void AddParts(View& page) {
  const std::vector<std::pair<std::string, std::string_view>> templates{
      {"part_facts", page_files::kFacts}, {"part_table", page_files::kTable}};
  for (const auto& [name, text] : templates) {
    page.set(name, View(partial([text = text] { return std::string(text); })));
  }
  page.set("page_css", View(std::string(page_files::kPageCss)));
  page.set("explain_css", View(std::string(page_files::kExplainCss)));
  page.set("print_css", View(std::string(page_files::kPrintCss)));
}

}  // namespace

std::string WriteExplanationHtml(const RecordingCase& question,
                                 const RecordingExplanation& answer) {
  View page;
  AddParts(page);
  const VerdictLook look = LookOf(answer.verdict);
  page.set("title", View("rigproof: " + question.recordings.front().recording.name));
  page.set("program_version", View(question.program_version));
  page.set("verdict_mark", View(MarkClass(look.mark)));
  page.set("verdict_sign", View(MarkSign(look.mark)));
  page.set("verdict_word", View(std::string(look.word)));
  page.set("headline", View(answer.headline));
  page.set("facts", FactsView(question));
  ViewList timelines;
  for (std::size_t i = 0; i < question.recordings.size(); ++i) {
    timelines.emplace_back(TimelineView(question, answer, i));
  }
  page.set("timelines", View(timelines));
  ViewList causes;
  for (std::size_t i = 0; question.log && i < answer.causes.size(); ++i) {
    causes.emplace_back(CauseView(i + 1, answer.causes[i]));
  }
  page.set("has_causes", View(!causes.empty()));
  page.set("causes", View(causes));
  ViewList suspects;
  for (const RecordingSuspect& one : answer.suspects) {
    suspects.emplace_back(SuspectView(one));
  }
  page.set("has_suspects", View(!suspects.empty()));
  page.set("suspects", View(suspects));
  page.set("moments", question.log ? ToView(MomentTable(question, answer)) : View(false));
  page.set("more_moments", answer.moments.size() > kMomentsShown
                               ? View(fmt::format("{} more are in the JSON output.",
                                                  answer.moments.size() - kMomentsShown))
                               : View(false));
  page.set("has_pattern", View(!answer.pattern_says.empty()));
  page.set("pattern", ToView(answer.pattern_says));
  page.set("has_next", View(!answer.next_time.empty()));
  page.set("next", ToView(answer.next_time));
  mustache layout{std::string(page_files::kExplain)};
  layout.set_custom_escape(EscapeForPage);
  return layout.render(page);
}

}  // namespace report
