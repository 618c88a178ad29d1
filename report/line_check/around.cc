// SPDX-License-Identifier: Apache-2.0
//
// What went on around a line-check: devices that other programs hold, and lines of the kernel's
// log.

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "report/line_check/findings.h"
#include "report/words/figures.h"

namespace report {
namespace {

using probes::LineDevice;
using probes::LineOutcome;

constexpr std::size_t kMostLogLines = 5;

}  // namespace

void AddNeighbourFindings(const probes::LineCheck& check, std::vector<LineFinding>& findings) {
  if (check.others_in_use.empty()) {
    return;
  }
  const bool left_alone = std::any_of(
      check.devices.begin(), check.devices.end(),
      [](const LineDevice& device) { return device.outcome == LineOutcome::kNotTried; });
  LineFinding made;
  made.least = left_alone ? Verdict::kUnproven : Verdict::kReady;
  made.finding.id = "line-other-in-use";
  made.finding.severity = left_alone ? Severity::kWarn : Severity::kNote;
  made.finding.title = "Other programs hold capture devices that are no part of this check";
  for (const probes::CaptureNode& node : check.others_in_use) {
    if (!node.usb_path.empty()) {
      made.finding.about.push_back({SubjectKind::kUsb, node.usb_path});
    }
    for (const probes::NodeUser& user : node.users) {
      made.finding.evidence.push_back(
          fmt::format("{} ({}): {} (process {})", node.name, node.node, user.process, user.pid));
    }
  }
  made.finding.action =
      "Close those programs: what they stream takes bandwidth from this check, and this check from "
      "them.";
  made.finding.action += left_alone ? " --even-in-use tries it all the same." : "";
  findings.push_back(std::move(made));
}

void AddLogFindings(const probes::KernelLog& log, std::vector<LineFinding>& findings) {
  if (!log.lines_read) {
    LineFinding made;
    made.finding.id = "line-log-unread";
    made.finding.severity = Severity::kNote;
    made.finding.title = "The kernel's log could not be read";
    made.finding.evidence = {log.lines_read.why_unknown()};
    made.finding.action = "Run the check as root to have it read: it often names a bad cable.";
    findings.push_back(std::move(made));
    return;
  }
  if (log.matches.empty()) {
    return;
  }
  const bool trouble = std::any_of(log.matches.begin(), log.matches.end(),
                                   [](const auto& line) { return line.weight != "note"; });
  LineFinding made;
  made.least = trouble ? Verdict::kTight : Verdict::kReady;
  made.finding.id = "line-kernel-log";
  made.finding.severity = trouble ? Severity::kWarn : Severity::kNote;
  made.finding.title = fmt::format(
      "The kernel wrote {} during the check",
      CountText(static_cast<long long>(log.matches.size()), "line that tells of trouble or change",
                "lines that tell of trouble or change"));
  for (const auto& line : log.matches) {
    if (made.finding.evidence.size() == kMostLogLines) {
      made.finding.evidence.push_back("and more");
      break;
    }
    made.finding.evidence.push_back(
        fmt::format("{:.1f} s: {} ({}: {})", line.at_s, line.text, line.weight, line.meaning));
  }
  made.finding.action = "Look at the device that a line names: its cable, plug, port and power.";
  findings.push_back(std::move(made));
}

}  // namespace report
