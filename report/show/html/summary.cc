// SPDX-License-Identifier: Apache-2.0
//
// The head of the report page: verdict, first limit, first repair, facts strip, banner.

#include <string>
#include <vector>

#include "report/assess/first_repair.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/show/rows/verdict.h"

namespace report {

View SummaryView(const Document& document) {
  const VerdictWords words = WordsOf(document.verdict);
  const bool has_reasons = !document.reasons.empty();
  View view("verdict_word", View(words.word));
  view.set("verdict_mark", View(MarkClass(words.mark)));
  view.set("verdict_sign", View(MarkSign(words.mark)));
  view.set("verdict_meaning", View(words.meaning));
  view.set("headline", View(document.first_limit));
  const FairTest& fair = document.fair_test;
  view.set("not_fair", View(fair.fair == false));
  view.set("fair_command", View(fair.command));
  view.set("incomplete", View(!document.complete));
  view.set("why_incomplete", View(WhyIncomplete(document.evidence)));
  view.set("has_limit", View(has_reasons));
  view.set("first_limit", View(has_reasons ? document.reasons.front() : std::string()));
  view.set("more_reasons", has_reasons ? ToView(std::vector<std::string>(
                                             document.reasons.begin() + 1, document.reasons.end()))
                                       : View(false));
  view.set("has_more_reasons", View(document.reasons.size() > 1));
  const Finding* repair = FirstRepair(document);
  view.set("has_repair", View(repair != nullptr));
  view.set("repair_action", View(repair != nullptr ? repair->action : std::string()));
  view.set("repair_title", View(repair != nullptr ? repair->title : std::string()));
  view.set("repair_link", View("#" + AnchorOf(repair != nullptr ? repair->id : std::string())));
  view.set("strip", ToView(TestFacts(document.evidence)));
  return view;
}

}  // namespace report
