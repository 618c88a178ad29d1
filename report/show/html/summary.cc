// SPDX-License-Identifier: Apache-2.0
//
// The head of the report page: verdict, first limit, first repair, facts strip, banner.

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "report/assess/first_repair.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/words/figures.h"

namespace report {

namespace {

struct VerdictWords {
  std::string word;
  Mark mark;
  std::string meaning;
};

VerdictWords WordsFor(Verdict verdict) {
  switch (verdict) {
    case Verdict::kReady:
      return {"Ready", Mark::kGood, "nothing dropped, every margin kept"};
    case Verdict::kTight:
      return {"Tight", Mark::kWarn, "nothing dropped, but a margin is not kept"};
    case Verdict::kShort:
      return {"Short", Mark::kStop, "frames dropped, or more is asked than there is"};
    case Verdict::kUnproven:
      break;
  }
  return {"Unproven", Mark::kUnknown, "something that is needed was neither measured nor computed"};
}

std::string CpuText(const probes::CpuInventory& cpu) {
  if (!cpu.model) {
    return "unknown: " + cpu.model.why_unknown();
  }
  return cpu.threads ? fmt::format("{}, {} threads", *cpu.model, *cpu.threads) : *cpu.model;
}

constexpr std::size_t kDateLength = 20;

/// "2031-02-03 18:20 UTC" of "2031-02-03T18:20:00Z"; other texts as they are.
std::string DateText(const std::string& started_at) {
  if (started_at.size() != kDateLength || started_at[10] != 'T' || started_at.back() != 'Z') {
    return started_at;
  }
  return started_at.substr(0, 10) + " " + started_at.substr(11, 5) + " UTC";
}

show::Facts StripFacts(const Evidence& evidence) {
  show::Facts facts;
  const probes::Inventory& machine = evidence.inventory;
  facts.Add("Production", evidence.profile.name);
  facts.Add("Lasts", base::FormatSeconds(60.0 * evidence.profile.duration_minutes));
  facts.Add("Checked", DateText(evidence.started_at));
  facts.Add("Length of check", evidence.length);
  facts.Add("CPU", CpuText(machine.cpu));
  facts.Add("Memory", machine.cpu.memory_bytes,
            [](std::int64_t bytes) { return base::FormatBytes(static_cast<double>(bytes)); });
  facts.Add("System", machine.settings.os);
  if (!machine.live) {
    facts.Add("Machine read from", machine.machine_root + " (a stored copy, not this PC)");
  }
  facts.Add("Program", "rigproof " + evidence.program_version);
  return facts;
}

std::string WhyIncomplete(const Evidence& evidence) {
  const auto& rehearsal = evidence.results.rehearsal;
  if (rehearsal && !rehearsal->complete && !rehearsal->stopped_because.empty()) {
    return "The rehearsal stopped early: " + rehearsal->stopped_because + ".";
  }
  return "Part of what was asked for was not run.";
}

}  // namespace

View SummaryView(const Document& document) {
  const VerdictWords words = WordsFor(document.verdict);
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
  view.set("strip", ToView(StripFacts(document.evidence)));
  return view;
}

}  // namespace report
