// SPDX-License-Identifier: Apache-2.0
//
// Why recordings lost pictures, on a terminal.

#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/explain/advice.h"
#include "report/explain/recording.h"
#include "report/show/terminal/table.h"
#include "report/show/terminal/text.h"
#include "report/show/terminal/tones.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr int kLabelColumns = 17;
constexpr std::size_t kMomentsShown = 12;
constexpr std::size_t kAgainstShown = 4;
constexpr std::size_t kSuspectsShown = 5;

std::string LogText(const RecordingCase& question) {
  const probes::WatchLog& log = *question.log;
  std::string text =
      fmt::format("{}, {} from {}", question.log_name,
                  base::FormatSeconds(std::max(0.0, log.ends_s - log.begins_s)), log.head.began_at);
  const std::string program = WatchedProgram(log);
  text += program.empty() ? "" : ", watching " + program;
  if (log.damaged_bytes > 0) {
    text += fmt::format("; {} of it could not be read",
                        base::FormatBytes(static_cast<double>(log.damaged_bytes)));
  }
  return text;
}

void PutPlaces(TerminalPage& page, const RecordingCase& question,
               const RecordingExplanation& answer) {
  for (std::size_t i = 0; i < answer.recordings.size(); ++i) {
    const RecordingDocument& document = answer.recordings[i];
    const bool told = document.headline == answer.headline;  // in the first line already
    page.Beside(0, {"recording"}, kLabelColumns,
                {document.recording.name + (told ? "" : ": " + document.headline)});
    for (const std::string& remark : document.recording.remarks) {
      page.Beside(0, {"note", Tone::kWarn}, kLabelColumns, {remark});
    }
    if (!question.log) {
      continue;
    }
    const LogPlace& place = question.places[i];
    const bool placed = place.by != PlacedBy::kNothing;
    page.Beside(
        0, {placed ? "lies in the log" : "not in the log", placed ? Tone::kPlain : Tone::kWarn},
        kLabelColumns,
        {(placed ? fmt::format("from its second {:.1f}, {}", place.at_s, place.told) : place.told),
         Tone::kDim});
    for (const std::string& doubt : place.doubts) {
      page.Beside(0, {"doubt", Tone::kWarn}, kLabelColumns, {doubt});
    }
  }
}

void PutCause(TerminalPage& page, std::size_t number, const DropCause& cause) {
  const bool known = cause.cause != kCauseNotKnown;
  page.Blank();
  page.Beside(2,
              {fmt::format("{}. {}", number, known ? "cause" : "unknown"),
               known ? Tone::kStop : Tone::kWarn},
              kLabelColumns - 2,
              {cause.cause + (cause.detail.empty() ? "" : ", " + cause.detail), Tone::kStrong});
  page.Beside(2, {"explains"}, kLabelColumns - 2, {Explains(cause)});
  for (const std::string& line : cause.evidence_for) {
    page.Beside(2, {"for"}, kLabelColumns - 2, {line});
  }
  for (std::size_t i = 0; i < std::min(cause.evidence_against.size(), kAgainstShown); ++i) {
    page.Beside(2, {known ? "not another" : "against"}, kLabelColumns - 2,
                {cause.evidence_against[i], Tone::kDim});
  }
  if (known) {
    page.Beside(2, {"do"}, kLabelColumns - 2, {cause.action});
  }
}

void PutSuspects(TerminalPage& page, const RecordingExplanation& answer) {
  if (answer.suspects.empty()) {
    return;
  }
  page.Heading("Suspects: something speaks for each, nothing proves it");
  for (std::size_t i = 0; i < std::min(answer.suspects.size(), kSuspectsShown); ++i) {
    const RecordingSuspect& one = answer.suspects[i];
    page.Beside(2, {"not proven", Tone::kWarn}, kLabelColumns - 2, {SuspectLine(one)});
    for (const std::string& line : one.suspect.speaks_for) {
      page.Beside(2, {"for"}, kLabelColumns - 2, {line});
    }
    for (const std::string& line : one.suspect.not_proven) {
      page.Beside(2, {"but"}, kLabelColumns - 2, {line, Tone::kDim});
    }
  }
}

void PutMoments(TerminalPage& page, const RecordingExplanation& answer) {
  if (answer.moments.empty()) {
    return;
  }
  page.Heading("Moments");
  TerminalTable table;
  table.columns = {{"at", true}, {"length", true}, {"missing", true}, {"cause", false, 12}};
  for (std::size_t i = 0; i < std::min(answer.moments.size(), kMomentsShown); ++i) {
    const ExplainedMoment& moment = answer.moments[i];
    table.rows.push_back({{fmt::format("{:.3f} s", moment.at_s)},
                          {LengthText(moment)},
                          {FormatCount(moment.missing)},
                          {moment.explanation.cause}});
  }
  PutTable(page, 2, table);
  if (answer.moments.size() > kMomentsShown) {
    page.Paragraph(
        2, {fmt::format("{} more; --json has all of them.", answer.moments.size() - kMomentsShown),
            Tone::kDim});
  }
}

void PutLines(TerminalPage& page, const char* heading, const std::vector<std::string>& lines) {
  if (lines.empty()) {
    return;
  }
  page.Heading(heading);
  for (const std::string& line : lines) {
    page.Beside(2, {"-"}, 2, {line});
  }
}

}  // namespace

std::string WriteExplanationText(const RecordingCase& question, const RecordingExplanation& answer,
                                 const TerminalStyle& style) {
  TerminalPage page(style);
  page.Beside(0, WordOf(answer.verdict), kLabelColumns, {answer.headline, Tone::kStrong});
  PutPlaces(page, question, answer);
  if (question.log) {
    page.Beside(0, {"log"}, kLabelColumns, {LogText(question), Tone::kDim});
    if (!answer.causes.empty()) {
      page.Heading(
          "Causes: seen themselves, or two independent signs agree at the loss and not otherwise");
    }
    for (std::size_t i = 0; i < answer.causes.size(); ++i) {
      PutCause(page, i + 1, answer.causes[i]);
    }
    PutSuspects(page, answer);
    PutMoments(page, answer);
  }
  PutLines(page, "What the pattern alone allows", answer.pattern_says);
  PutLines(page, "Next time", answer.next_time);
  return page.text();
}

}  // namespace report
