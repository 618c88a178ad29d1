// SPDX-License-Identifier: Apache-2.0
//
// Causes of drops, steps, and what the run proves, on a terminal.

#include <algorithm>
#include <cstddef>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/terminal/sections.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr std::size_t kMostEvidence = 4;
constexpr int kLead = 7;

std::string ProofText(const DropProof& proof) {
  std::string text =
      fmt::format("At 95 % confidence at most {} drops an hour; the profile allows {}",
                  FormatAtMost(proof.upper_95_per_hour), FormatNumber(proof.allowed_per_hour));
  if (proof.proven) {
    return text + ": proven.";
  }
  if (!proof.seconds_to_prove) {
    return text + ". No length proves none at all.";
  }
  return text + fmt::format(". {} without a drop would prove it.",
                            base::FormatSeconds(*proof.seconds_to_prove));
}

}  // namespace

void PutCauses(TerminalPage& page, const Document& document) {
  for (const DropCause& cause : document.causes) {
    page.Beside(
        2, {"cause"}, kLead,
        {fmt::format("{}{}: {} in {}", cause.cause, cause.detail.empty() ? "" : ", " + cause.detail,
                     Plural(cause.frames, "frame"), Plural(cause.runs, "run"))});
    for (std::size_t i = 0; i < std::min(cause.evidence_for.size(), kMostEvidence); ++i) {
      page.Beside(2, {""}, kLead, {cause.evidence_for[i]});
    }
  }
}

void PutSteps(TerminalPage& page, const Document& document) {
  for (const SpeedStep& step : document.steps) {
    page.Beside(2, {"step"}, kLead,
                {fmt::format("{} at {:.0f} s: {} to {} {} ({:+.0f} %)", step.series, step.at_s,
                             FormatNumber(step.before), FormatNumber(step.after), step.unit,
                             step.change_percent)});
    for (const std::string& moved : step.moved_with) {
      page.Beside(2, {""}, kLead, {"with it, " + moved});
    }
  }
}

void PutProof(TerminalPage& page, const Document& document) {
  if (document.proof) {
    page.Paragraph(2, {ProofText(*document.proof)});
  } else if (const auto& rehearsal = document.evidence.results.rehearsal) {
    page.Paragraph(
        2, {fmt::format("At 95 % confidence at most {} drops an hour; the profile allows {}.",
                        FormatAtMost(rehearsal->drops_per_hour_upper_95),
                        FormatNumber(document.evidence.profile.margins.allowed_drops_per_hour))});
  }
}

}  // namespace report
