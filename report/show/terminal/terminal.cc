// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <cctype>
#include <cstddef>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/assess/first_repair.h"
#include "report/data/writers.h"
#include "report/fields/words.h"
#include "report/loads/cable_lines.h"
#include "report/show/terminal/cables.h"
#include "report/show/terminal/sections.h"
#include "report/show/terminal/text.h"
#include "report/show/terminal/tones.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr int kLabelColumns = 11;
constexpr std::size_t kMostEvidence = 6;

Tone ToneOf(Severity severity) {
  switch (severity) {
    case Severity::kStop:
      return Tone::kStop;
    case Severity::kWarn:
      return Tone::kWarn;
    case Severity::kNote:
      break;
  }
  return Tone::kStrong;
}

std::string Capitals(std::string_view word) {
  std::string text(word);
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return text;
}

/// "cpu 40 % (keep 25 %), disk 12 % (keep 40 %)": the tightest of each resource that is known.
std::string SpareInShort(const std::vector<Headroom>& headroom) {
  constexpr std::size_t kMostNamed = 3;
  std::vector<Resource> named;
  std::string text;
  for (const Headroom& row : headroom) {
    const bool again = std::find(named.begin(), named.end(), row.resource) != named.end();
    if (!row.headroom_percent || again || named.size() == kMostNamed) {
      continue;
    }
    text += fmt::format("{}{} {} (keep {})", named.empty() ? "" : ", ", base::WordOf(row.resource),
                        FormatSpare(*row.headroom_percent, row.margin_percent, row.demand,
                                    row.capacity.value_or(0), row.unit),
                        FormatMarginPercent(row.margin_percent));
    named.push_back(row.resource);
  }
  return named.empty() ? "not known: nothing was measured against its limit" : text;
}

/// The repair to begin with; failing that, how to prove what is open.
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
  return document.verdict == Verdict::kReady ? "nothing" : "nothing was found that would mend it";
}

std::string WhatWasRun(const Evidence& evidence) {
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
    text += ", begun " + evidence.started_at;
  }
  if (!evidence.inventory.live) {
    text += "; machine read from " + evidence.inventory.machine_root;
  }
  return text;
}

std::string WhyIncomplete(const Evidence& evidence) {
  const auto& rehearsal = evidence.results.rehearsal;
  if (rehearsal && !rehearsal->complete) {
    return rehearsal->stopped_because.empty() ? "the rehearsal did not end"
                                              : rehearsal->stopped_because;
  }
  return rehearsal ? "not everything was run" : "nothing was rehearsed";
}

}  // namespace

Piece VerdictPiece(Verdict verdict) {
  return {Capitals(stored::WordOf(verdict)), ToneOf(verdict)};
}

void PutVerdict(TerminalPage& page, const Document& document) {
  page.Beside(0, VerdictPiece(document.verdict), kLabelColumns,
              {document.first_limit, Tone::kStrong});
  page.Beside(0, {"to spare"}, kLabelColumns, {SpareInShort(document.headroom)});
  page.Beside(0, {"fix first"}, kLabelColumns, {FixFirst(document)});
  if (document.fair_test.fair == false && !document.fair_test.command.empty()) {
    page.Beside(0, {"fair test"}, kLabelColumns, {document.fair_test.command});
  }
  page.Beside(0, {"run"}, kLabelColumns, {WhatWasRun(document.evidence), Tone::kDim});
  if (!document.complete) {
    page.Beside(0, {"INCOMPLETE", Tone::kWarn}, kLabelColumns, {WhyIncomplete(document.evidence)});
  }
  if (document.reasons.empty()) {
    return;
  }
  page.Heading("Why");
  for (const std::string& why : document.reasons) {
    page.Beside(2, {"-"}, 2, {why});
  }
}

void PutFindings(TerminalPage& page, const std::vector<Finding>& findings) {
  page.Heading("Findings");
  if (findings.empty()) {
    page.Paragraph(2, {"none"});
  }
  for (const Severity severity : {Severity::kStop, Severity::kWarn, Severity::kNote}) {
    for (const Finding& finding : findings) {
      if (finding.severity != severity) {
        continue;
      }
      page.Beside(2, {std::string(stored::WordOf(severity)), ToneOf(severity)}, 6,
                  {finding.title, Tone::kStrong});
      for (std::size_t i = 0; i < std::min(finding.evidence.size(), kMostEvidence); ++i) {
        page.Beside(8, {"-"}, 2, {finding.evidence[i]});
      }
      if (finding.evidence.size() > kMostEvidence) {
        page.Paragraph(8, {fmt::format("- and {} more", finding.evidence.size() - kMostEvidence)});
      }
      if (!finding.action.empty()) {
        page.Beside(8, {"do:"}, 4, {finding.action});
      }
    }
  }
}

void PutCautions(TerminalPage& page, const Document& document) {
  if (document.cautions.empty()) {
    return;
  }
  page.Blank();
  for (const std::string& caution : document.cautions) {
    page.Beside(0, {"caution"}, kLabelColumns, {caution});
  }
}

std::string WriteTerminal(const Document& document, const TerminalStyle& style) {
  TerminalPage page(style);
  PutVerdict(page, document);
  PutHeadroom(page, document);
  PutBallast(page, document);
  PutFindings(page, document.findings);
  PutWiring(page, document);
  PutRehearsal(page, document);
  PutRoom(page, document);
  PutCablesAndControl(page, document.evidence.profile, CableSpeeds(document.evidence));
  PutBasis(page, document);
  PutCautions(page, document);
  return page.text();
}

}  // namespace report
