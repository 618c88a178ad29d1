// SPDX-License-Identifier: Apache-2.0
//
// Why frames were dropped, and what got slower.

#include <cctype>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/explain/explain.h"
#include "report/loads/subjects.h"
#include "report/rules/rules.h"
#include "report/words/cautions.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report::rules {
namespace {

/// "CPU quota" -> "cpu-quota".
std::string Slug(const std::string& text) {
  std::string slug;
  for (const char c : text) {
    slug += c == ' ' ? '-' : static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  }
  return slug;
}

}  // namespace

void CausesOfDrops(const RuleInput& input, std::vector<Finding>& findings) {
  for (const DropCause& cause : input.causes) {
    if (cause.cause == kCauseNotKnown) {
      continue;
    }
    Finding finding = NewFinding(
        "cause-" + Slug(cause.cause),
        input.facts.run && input.facts.run->Permitted() ? Severity::kWarn : Severity::kStop);
    finding.title =
        fmt::format("{} dropped, cause: {}{}", CountText(cause.frames, "frame was", "frames were"),
                    cause.cause, cause.detail.empty() ? "" : ", " + cause.detail);
    finding.evidence = cause.evidence_for;
    finding.action = cause.action;
    finding.lost_frames = cause.frames;
    for (const std::string& output : cause.outputs) {
      finding.about.push_back(OutputSubject(output));
    }
    findings.push_back(finding);
  }
}

void SpeedStepped(const RuleInput& input, std::vector<Finding>& findings) {
  for (const SpeedStep& step : input.steps) {
    Finding finding = NewFinding("step-down", Severity::kWarn);
    finding.title = fmt::format("{} changed for the worse at {:.0f} s and stayed so: {} to {} {}",
                                Capitalised(base::Printable(step.series)), step.at_s,
                                FormatNumber(step.before), FormatNumber(step.after), step.unit);
    finding.evidence.push_back(fmt::format("{:+.0f} % of the level before", step.change_percent));
    for (const std::string& moved : step.moved_with) {
      finding.evidence.push_back("moved with it: " + moved);
    }
    if (step.moved_with.empty()) {
      finding.evidence.push_back("nothing else that was sampled moved with it");
    }
    finding.action =
        "Rehearse for longer, so that the level that lasts is the one that is judged, and mend "
        "what moved with the step: cooling, caches of disks, other programs.";
    findings.push_back(finding);
  }
}

}  // namespace report::rules
