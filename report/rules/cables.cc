// SPDX-License-Identifier: Apache-2.0
//
// Cables and camera control.

#include <cstddef>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/cable_reach.h"
#include "report/loads/assumed_demand.h"
#include "report/loads/cable_lines.h"
#include "report/loads/subjects.h"
#include "report/rules/rules.h"
#include "report/words/cautions.h"

namespace report::rules {

void CableLength(const RuleInput& input, std::vector<Finding>& findings) {
  for (const CableLine& line :
       CableLines(input.facts.profile(), CableSpeeds(input.facts.evidence))) {
    const auto severity = SeverityOf(line.fit);
    if (!severity) {
      continue;
    }
    Finding finding = NewFinding("cable-length", *severity);
    finding.title =
        fmt::format("The cable of {} {} for what it carries", base::Printable(line.source),
                    line.fit == CableFit::kBeyond ? "is too long" : "may be too long");
    finding.evidence.push_back(
        fmt::format("{}, carrying {}; limit {}", line.cable, line.carries, line.limit));
    finding.evidence.push_back(line.basis);
    finding.about = {SourceSubject(line.source)};
    finding.action = WithCaution(
        "Use a shorter or better cable, fibre, or a device that renews the signal on the way, and "
        "try it before the show.",
        kCautionMains);
    findings.push_back(finding);
  }
}

void CableTooSlow(const RuleInput& input, std::vector<Finding>& findings) {
  const auto& sources = input.facts.profile().sources;
  for (std::size_t i = 0; i < sources.size() && i < input.facts.demand().sources.size(); ++i) {
    const double asked = input.facts.demand().sources[i].bytes_per_second;
    if (!report::CableTooSlow(sources[i], asked) || !AssumptionOf(sources[i]).empty()) {
      continue;
    }
    Finding finding = NewFinding("cable-too-slow", Severity::kStop);
    finding.title = fmt::format("The USB 2 cable of {} cannot carry its pictures",
                                base::Printable(sources[i].name));
    finding.evidence.push_back(fmt::format("{} needed; USB 2 signals {} (standard: USB 2.0)",
                                           base::FormatBytesPerSecond(asked),
                                           base::FormatBytesPerSecond(kUsb2CableBytesPerSecond)));
    finding.about = {SourceSubject(sources[i].name)};
    finding.action = "Use a USB 3 cable and port, or let the camera compress its pictures.";
    findings.push_back(finding);
  }
}

void ControlLength(const RuleInput& input, std::vector<Finding>& findings) {
  for (const ChainLine& line : ChainLines(input.facts.profile())) {
    const auto severity = SeverityOf(line.fit);
    if (!severity) {
      continue;
    }
    Finding finding = NewFinding("control-length", *severity);
    finding.title = fmt::format("Camera control {} is longer than {} reaches",
                                base::Printable(line.name), line.wires);
    finding.evidence.push_back(fmt::format("{}; limit {}", line.length, line.limit));
    finding.evidence.push_back(line.basis);
    finding.action =
        WithCaution("Use RS-422 or a lower speed, a shorter cable, or two chains.", kCautionMains);
    findings.push_back(finding);
  }
}

void ControlSpeed(const RuleInput& input, std::vector<Finding>& findings) {
  for (const profiles::ControlChain& chain : input.facts.profile().camera_control) {
    if (chain.wires != profiles::ControlWires::kRs232 ||
        chain.speed_baud <= profiles::kFastestRs232Baud) {
      continue;
    }
    Finding finding = NewFinding("control-speed", Severity::kNote);
    finding.title = fmt::format("Camera control {} is faster than RS-232 is specified for",
                                base::Printable(chain.name));
    finding.evidence.push_back(
        fmt::format("{} baud; standard: up to 20 kbit/s (a manual of industrial links quotes it)",
                    chain.speed_baud));
    finding.action =
        "Keep its cables short, set 9600 or 19200 baud at every camera, or use RS-422.";
    findings.push_back(finding);
  }
}

void ControlChainBreak(const RuleInput& input, std::vector<Finding>& findings) {
  for (const profiles::ControlChain& chain : input.facts.profile().camera_control) {
    if (chain.cameras.size() < 2) {
      continue;
    }
    Finding finding = NewFinding("control-chain-break", Severity::kNote);
    finding.title = fmt::format("One break in camera control {} loses every camera after it",
                                base::Printable(chain.name));
    std::string order;
    for (const profiles::ControlledCamera& camera : chain.cameras) {
      order += (order.empty() ? "" : " - ") + base::Printable(camera.source, 60);
      finding.about.push_back(SourceSubject(camera.source));
    }
    finding.evidence.push_back("controller - " + order + " (common practice: a chain)");
    finding.action = "Put the camera that matters most first, and have a spare cable ready.";
    findings.push_back(finding);
  }
}

}  // namespace report::rules
