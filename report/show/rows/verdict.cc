// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/verdict.h"

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "report/assess/first_repair.h"
#include "report/show/rows/production.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Mark;

std::string CpuText(const probes::CpuInventory& cpu) {
  if (!cpu.model) {
    return "unknown: " + cpu.model.why_unknown();
  }
  return cpu.threads ? fmt::format("{}, {}", *cpu.model, Plural(*cpu.threads, "thread"))
                     : *cpu.model;
}

constexpr std::size_t kDateLength = 20;

/// "2031-02-03 18:20 UTC" of "2031-02-03T18:20:00Z"; other texts as they are.
std::string DateText(const std::string& started_at) {
  if (started_at.size() != kDateLength || started_at[10] != 'T' || started_at.back() != 'Z') {
    return started_at;
  }
  return started_at.substr(0, 10) + " " + started_at.substr(11, 5) + " UTC";
}

}  // namespace

VerdictWords WordsOf(Verdict verdict) {
  switch (verdict) {
    case Verdict::kReady:
      return {"Ready", Mark::kGood, "nothing was dropped, every margin stays free"};
    case Verdict::kTight:
      return {"Tight", Mark::kWarn,
              "it held, but a resource is below its margin, or a few allowed frames were dropped"};
    case Verdict::kShort:
      return {"Short", Mark::kStop, "frames were dropped, or a resource is overloaded"};
    case Verdict::kUnproven:
      break;
  }
  return {"Unproven", Mark::kUnknown,
          "something needed was not measured, or the test was not fair"};
}

show::Cell SeverityCell(Severity severity) {
  switch (severity) {
    case Severity::kStop:
      return {"Stop", Mark::kStop};
    case Severity::kWarn:
      return {"Warn", Mark::kWarn};
    case Severity::kNote:
      break;
  }
  return {"Note", Mark::kNote};
}

show::Facts TestFacts(const Evidence& evidence) {
  show::Facts facts;
  const profiles::Profile& profile = evidence.profile;
  const probes::Inventory& machine = evidence.inventory;
  facts.Add("Production", profile.name);
  facts.Add("Show length", base::FormatSeconds(60.0 * profile.duration_minutes));
  facts.Add("What it has",
            fmt::format("{}, {}, programme {}",
                        Plural(static_cast<std::int64_t>(profile.sources.size()), "source"),
                        Plural(static_cast<std::int64_t>(profile.outputs.size()), "output"),
                        PictureText(profile.program_raster, profile.program_rate)));
  facts.Add("Tested", DateText(evidence.started_at));
  facts.Add("Length of test", evidence.length);
  facts.Add("CPU", CpuText(machine.cpu));
  facts.Add("Memory", machine.cpu.memory_bytes,
            [](std::int64_t bytes) { return base::FormatBytes(static_cast<double>(bytes)); });
  facts.Add("System", machine.settings.os);
  if (!machine.live) {
    facts.Add("Machine read from", machine.machine_root + " (a stored copy, not this PC)");
  }
  facts.Add("Tested with", "rigproof " + evidence.program_version);
  return facts;
}

std::string TestedText(const Evidence& evidence) {
  std::string text = evidence.profile.name;
  if (evidence.profile.duration_minutes > 0) {
    text += ", " + base::FormatSeconds(60.0 * evidence.profile.duration_minutes);
  }
  const bool only = evidence.length == kRehearsalOnly;
  text += "; " + (only ? std::string("rehearsal alone") : evidence.length);
  if (evidence.results.rehearsal) {
    text += (only ? " for " : " rehearsal of ") +
            base::FormatSeconds(evidence.results.rehearsal->seconds);
  }
  if (!evidence.started_at.empty()) {
    text += ", started " + DateText(evidence.started_at);
  }
  if (!evidence.inventory.live) {
    text += "; machine read from " + evidence.inventory.machine_root;
  }
  return text;
}

std::string WhyIncomplete(const Evidence& evidence) {
  const auto& rehearsal = evidence.results.rehearsal;
  if (rehearsal && !rehearsal->complete) {
    return rehearsal->stopped_because.empty()
               ? "The rehearsal did not end."
               : "The rehearsal stopped early: " + rehearsal->stopped_because + ".";
  }
  return rehearsal ? "Part of what was asked for was not run." : "Nothing was rehearsed.";
}

std::string FixFirst(const Document& document) {
  if (const Finding* repair = FirstRepair(document)) {
    return repair->title + ": " + repair->action;
  }
  for (const Headroom& row : document.headroom) {
    if (!row.capacity && !row.how_to_prove.empty()) {
      return "nothing found; " + RowName(row.resource, "") +
             " is not proven yet: " + row.how_to_prove;
    }
  }
  return document.verdict == Verdict::kReady ? "nothing" : "nothing was found that would help";
}

std::string UnprovenNames(const Document& document) {
  std::string text;
  for (const Headroom& row : document.headroom) {
    if (!row.capacity) {
      text += (text.empty() ? "" : ", ") + RowName(row.resource, row.item);
    }
  }
  return text;
}

std::vector<std::string> OpenPoints(const Document& document) {
  std::vector<std::string> open;
  for (const Finding& finding : document.findings) {
    if (finding.severity != Severity::kNote) {
      open.push_back(SeverityCell(finding.severity).text + ": " + finding.title);
    }
  }
  for (const Headroom& row : document.headroom) {
    if (!row.capacity) {
      open.push_back("Unproven: " + RowName(row.resource, row.item));
    }
  }
  return open;
}

}  // namespace report
