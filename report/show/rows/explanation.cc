// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/explanation.h"

#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/explain/advice.h"
#include "report/show/rows/recording.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::When;

constexpr std::size_t kMostMoments = 200;
constexpr std::size_t kMostAgainst = 4;  // of one cause; --json has all

std::string LogText(const RecordingCase& question) {
  const probes::WatchLog& log = *question.log;
  std::string text = fmt::format("{}, {} from {}, {}", question.log_name,
                                 base::FormatSeconds(std::max(0.0, log.ends_s - log.begins_s)),
                                 log.head.began_at, Plural(log.head.cpus, "CPU"));
  const std::string program = WatchedProgram(log);
  text += program.empty() ? "" : ", watching " + program;
  if (log.damaged_bytes > 0) {
    text += fmt::format("; {} of it could not be read",
                        base::FormatBytes(static_cast<double>(log.damaged_bytes)));
  }
  return text;
}

void AddPlace(const LogPlace& place, show::Facts& facts) {
  if (place.by == PlacedBy::kNothing) {
    facts.Add("Not in the log", place.told);
  } else {
    facts.Add("In the log", fmt::format("from its second {:.1f}, {}", place.at_s, place.told));
  }
  for (const std::string& doubt : place.doubts) {
    facts.Add("Doubt", doubt);
  }
}

show::Part ReadPart(const RecordingCase& question, const RecordingExplanation& answer) {
  show::Facts facts;
  for (std::size_t i = 0; i < answer.recordings.size(); ++i) {
    const RecordingDocument& document = answer.recordings[i];
    const probes::Recording& recording = document.recording;
    const bool told = document.headline == answer.headline;  // in the first line already
    facts.Add("Recording", fmt::format("{}, {} of {}{}{}", recording.name,
                                       base::FormatSeconds(recording.length_s), recording.container,
                                       told ? "" : ": ", told ? "" : document.headline));
    for (const std::string& remark : recording.remarks) {
      facts.Add("Note", remark);
    }
    if (question.log) {
      AddPlace(question.places[i], facts);
    }
  }
  facts.Add("Log", question.log ? LogText(question) : "none was given");
  return {"What was read", {facts}};
}

void AddLines(const char* name, const std::vector<std::string>& texts, When when,
              std::vector<show::Block>& blocks) {
  if (!texts.empty()) {
    blocks.emplace_back(show::Lines{show::CellsOf(texts), SIZE_MAX, when, {name}});
  }
}

show::Part CausesPart(const RecordingExplanation& answer) {
  show::Part part{"Causes",
                  {show::Note{{"Named only where the cause itself was seen, or where two "
                               "independent signs agree at the loss and were absent or clearly "
                               "weaker where nothing is missing."}}}};
  int number = 0;
  for (const DropCause& cause : answer.causes) {
    const bool known = cause.cause != kCauseNotKnown;
    part.blocks.emplace_back(show::Subtitle{fmt::format(
        "{}. {}{}{}", ++number, cause.cause, cause.detail.empty() ? "" : ", ", cause.detail)});
    part.blocks.emplace_back(
        show::Note{{Explains(cause), known ? show::Mark::kStop : show::Mark::kUnknown}});
    AddLines("For it", cause.evidence_for, When::kAlways, part.blocks);
    std::vector<std::string> against = cause.evidence_against;
    against.resize(std::min(against.size(), kMostAgainst));
    AddLines(known ? "Why not another" : "Against it", against, When::kAlways, part.blocks);
    if (known) {
      AddLines("What to do", {cause.action}, When::kAlways, part.blocks);
    }
  }
  return answer.causes.empty() ? show::Part{} : part;
}

show::Part SuspectsPart(const RecordingExplanation& answer) {
  constexpr std::size_t kOnTerminal = 5;
  show::Part part{"Suspects, not proven",
                  {show::Note{{"Something speaks for each of these, and nothing proves it: where "
                               "to look next, no answer."}}}};
  for (std::size_t i = 0; i < answer.suspects.size(); ++i) {
    const RecordingSuspect& one = answer.suspects[i];
    const When when = i < kOnTerminal ? When::kAlways : When::kPage;
    part.blocks.emplace_back(show::Subtitle{SuspectLine(one), when});
    AddLines("For it", one.suspect.speaks_for, when, part.blocks);
    AddLines("Not proven", one.suspect.not_proven, when, part.blocks);
  }
  return answer.suspects.empty() ? show::Part{} : part;
}

show::Part MomentsPart(const RecordingCase& question, const RecordingExplanation& answer) {
  constexpr std::size_t kFirst = 12;
  show::Table table{"Moments with missing frames",
                    {{"At", true},
                     {"Length", true},
                     {"Missing", true},
                     {"In the log", true, false, 8, When::kPage},
                     {"Recording", false, false, 8, When::kPage},
                     {"Cause", false, false, 12}},
                    {}};
  table.first = kFirst;
  for (std::size_t i = 0; i < std::min(answer.moments.size(), kMostMoments); ++i) {
    const ExplainedMoment& moment = answer.moments[i];
    table.rows.push_back({{fmt::format("{:.3f} s", moment.at_s)},
                          {LengthText(moment)},
                          {FormatCount(moment.missing)},
                          {moment.log_s ? fmt::format("{:.2f} s", *moment.log_s) : "-"},
                          {question.recordings[moment.recording].recording.name},
                          {moment.explanation.cause}});
  }
  show::Part part{"Moments", {table}};
  if (answer.moments.size() > kMostMoments) {
    part.blocks.emplace_back(show::Note{
        {fmt::format("These are the first {} of {}; --json has all of them.", kMostMoments,
                     FormatCount(static_cast<std::int64_t>(answer.moments.size())))}});
  }
  return answer.moments.empty() ? show::Part{} : part;
}

}  // namespace

show::Sheet SheetOf(const RecordingCase& question, const RecordingExplanation& answer) {
  show::Sheet sheet{"Why are frames missing?",
                    VerdictCell(answer.verdict),
                    answer.headline,
                    {ReadPart(question, answer)}};
  if (question.log) {
    sheet.parts.push_back(CausesPart(answer));
    sheet.parts.push_back(SuspectsPart(answer));
    sheet.parts.push_back(MomentsPart(question, answer));
  }
  sheet.parts.push_back(show::ListPart("What the pattern alone allows", answer.pattern_says));
  sheet.parts.push_back(show::ListPart("Next time", answer.next_time));
  return sheet;
}

}  // namespace report
