// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <cctype>
#include <cstddef>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "report/data/writers.h"
#include "report/loads/cable_lines.h"
#include "report/show/rows/cables.h"
#include "report/show/rows/disk.h"
#include "report/show/rows/extra_load.h"
#include "report/show/rows/headroom.h"
#include "report/show/rows/rehearsal.h"
#include "report/show/rows/room.h"
#include "report/show/rows/verdict.h"
#include "report/show/rows/wiring.h"
#include "report/show/terminal/blocks.h"
#include "report/show/terminal/sections.h"
#include "report/show/terminal/text.h"

namespace report {
namespace {

constexpr int kLabelColumns = 11;
constexpr std::size_t kMostEvidence = 6;

/// "2 stop, 1 warn, 0 note; ...": what the findings come to, and how to see them.
std::string FindingsInShort(const std::vector<Finding>& findings) {
  const auto count = [&](Severity severity) {
    return std::count_if(findings.begin(), findings.end(),
                         [&](const Finding& finding) { return finding.severity == severity; });
  };
  return fmt::format("{} stop, {} warn, {} note; --details lists them", count(Severity::kStop),
                     count(Severity::kWarn), count(Severity::kNote));
}

}  // namespace

void PutVerdict(TerminalPage& page, const Document& document) {
  const VerdictWords words = WordsOf(document.verdict);
  page.Beside(0, VerdictPiece({words.word, words.mark}), kLabelColumns,
              {document.first_limit, Tone::kStrong});
  page.Beside(0, {"headroom"}, kLabelColumns, {TightestText(document.headroom)});
  page.Beside(0, {"fix first"}, kLabelColumns, {FixFirst(document)});
  if (const std::string unproven = UnprovenNames(document); !unproven.empty()) {
    page.Beside(0, {"unproven"}, kLabelColumns, {unproven});
  }
  if (document.fair_test.fair == false && !document.fair_test.command.empty()) {
    page.Beside(0, {"fair test"}, kLabelColumns, {document.fair_test.command});
  }
  page.Beside(0, {"tested"}, kLabelColumns, {TestedText(document.evidence), Tone::kDim});
  if (!document.complete) {
    page.Beside(0, {"INCOMPLETE", Tone::kWarn}, kLabelColumns, {WhyIncomplete(document.evidence)});
  }
}

void PutReasons(TerminalPage& page, const Document& document) {
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
      const show::Cell word = SeverityCell(severity);
      page.Beside(2, {word.text, ToneOf(word.mark)}, 6, {finding.title, Tone::kStrong});
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
  const std::size_t most = page.details() ? document.cautions.size() : 1;
  if (page.details() && !document.cautions.empty()) {
    page.Blank();
  }
  for (std::size_t at = 0; at < std::min(most, document.cautions.size()); ++at) {
    page.Beside(0, {"caution"}, kLabelColumns, {document.cautions[at]});
  }
}

std::string WriteTerminal(const Document& document, const TerminalStyle& style) {
  TerminalPage page(style);
  PutVerdict(page, document);
  if (!style.details) {
    page.Beside(0, {"findings"}, kLabelColumns, {FindingsInShort(document.findings)});
    PutCautions(page, document);
    return page.text();
  }
  PutReasons(page, document);
  PutHeadroom(page, document);
  PutPart(page, ExtraLoadPart(document));
  PutFindings(page, document.findings);
  PutPart(page, LoadedLinksPart(document));
  PutPart(page, MovesPart(document));
  PutPart(page, LinksAfterPart(document));
  PutPart(page, LedgerPart(document));
  PutPart(page, DropsPart(document));
  PutPart(page, CostPart(document));
  for (const bench::DiskRun& disk : document.evidence.results.disks) {
    PutPart(page, DiskPart(disk));
  }
  PutPart(page, RoomPart(document));
  PutPart(page, CablesPart(document.evidence.profile, CableSpeeds(document.evidence)));
  PutBasis(page, document);
  PutCautions(page, document);
  return page.text();
}

}  // namespace report
