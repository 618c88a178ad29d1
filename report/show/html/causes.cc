// SPDX-License-Identifier: Apache-2.0
//
// Causes of drops and steps on the report page.

#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"

namespace report {
namespace {

std::string InLines(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) {
    text += (text.empty() ? "" : "; ") + line;
  }
  return text;
}

std::vector<std::string> WordsOf(const std::vector<bench::Stage>& stages) {
  std::vector<std::string> words;
  for (const bench::Stage stage : stages) {
    words.emplace_back(base::WordOf(stage));
  }
  return words;
}

Table CauseTable(const Document& document) {
  Table table{"Why frames were lost: named only where two signs agree then and not otherwise",
              {{"Cause", false},
               {"Frames", true},
               {"From", true},
               {"To", true},
               {"Stages", false},
               {"For it", false},
               {"Against others", false},
               {"What to do", false}},
              {}};
  for (const DropCause& cause : document.causes) {
    table.rows.push_back({{cause.cause + (cause.detail.empty() ? "" : ", " + cause.detail)},
                          {FormatCount(cause.frames)},
                          {fmt::format("{:.1f} s", cause.first_s)},
                          {fmt::format("{:.1f} s", cause.last_s)},
                          {InLines(WordsOf(cause.stages))},
                          {cause.evidence_for.empty() ? std::string("no two signs agree")
                                                      : InLines(cause.evidence_for)},
                          {InLines(cause.evidence_against)},
                          {cause.action}});
  }
  return table;
}

Table StepTable(const Document& document) {
  Table table{"What got slower during the run and stayed so",
              {{"What", false},
               {"At", true},
               {"Before", true},
               {"After", true},
               {"Change", true},
               {"Moved with it", false}},
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

std::string ProofText(const DropProof& proof) {
  if (proof.proven) {
    return "the limit of the profile is proven";
  }
  return proof.seconds_to_prove ? base::FormatSeconds(*proof.seconds_to_prove) +
                                      " without a drop would prove the limit"
                                : std::string("no length of run proves a limit of none at all");
}

}  // namespace

void PutCauses(const Document& document, View& view) {
  view.set("causes", ToView(CauseTable(document)));
  view.set("steps", ToView(StepTable(document)));
  view.set("proof", document.proof ? View(ProofText(*document.proof)) : View(false));
}

}  // namespace report
