// SPDX-License-Identifier: Apache-2.0
//
// Verdict and headline of a line-check.

#include <algorithm>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/data/verdict_order.h"
#include "report/line_check/findings.h"
#include "report/line_check/line_check.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using probes::LineCheck;
using probes::LineDevice;
using probes::LineOutcome;

bool AnythingRan(const LineCheck& check) {
  return std::any_of(check.devices.begin(), check.devices.end(),
                     [](const LineDevice& device) { return device.pictures.delivered > 0; });
}

bool LostAtStart(const LineCheck& check) {
  return std::any_of(check.devices.begin(), check.devices.end(),
                     [](const LineDevice& device) { return device.pictures.lost_at_start > 0; });
}

/// Whether any device was opened: before that the kernel's log is not looked at.
bool AnythingTried(const LineCheck& check) {
  return std::any_of(check.devices.begin(), check.devices.end(), [](const LineDevice& device) {
    return device.outcome != LineOutcome::kNotThere && device.outcome != LineOutcome::kNotTried &&
           !LeftAlone(device);
  });
}

Verdict VerdictOf(const LineCheck& check, const std::vector<LineFinding>& findings) {
  Verdict verdict = Verdict::kReady;
  const bool open = std::any_of(
      check.devices.begin(), check.devices.end(),
      [](const LineDevice& device) { return device.outcome == LineOutcome::kNotTried; });
  if (check.interrupted || open || !AnythingRan(check)) {
    verdict = Verdict::kUnproven;
  }
  for (const LineFinding& each : findings) {
    verdict = BadnessOf(each.least) > BadnessOf(verdict) ? each.least : verdict;
  }
  return verdict;
}

std::string Headline(const LineCheck& check, Verdict verdict,
                     const std::vector<Finding>& findings) {
  if (check.devices.empty()) {
    return check.with_profile
               ? "No source of the profile arrives by USB or PCIe."
               : "This PC has no capture device: " +
                     (check.why_no_nodes.empty() ? "none captures video" : check.why_no_nodes) +
                     ".";
  }
  const auto count = static_cast<std::int64_t>(check.devices.size());
  const std::string length = base::FormatSeconds(check.seconds);
  if (verdict == Verdict::kReady) {
    const std::string all = count == 1 ? "The device" : fmt::format("All {} devices", count);
    return LostAtStart(check) ? fmt::format("{} dropped no frame after {} start, for {}.", all,
                                            count == 1 ? "its" : "their", length)
                              : fmt::format("{} delivered every frame for {}.", all, length);
  }
  if (check.interrupted && verdict == Verdict::kUnproven) {
    return "Stopped after " + length + " of " + base::FormatSeconds(check.asked_seconds) + ".";
  }
  for (const Finding& finding : findings) {
    if (finding.severity != Severity::kNote) {
      return finding.title + ".";
    }
  }
  return "Nothing was checked.";
}

}  // namespace

std::string LineModeText(const probes::LineMode& mode) {
  std::string text = fmt::format("{}x{} {}", mode.width, mode.height, mode.pixel_format);
  if (mode.rate_numerator > 0 && mode.rate_denominator > 0) {
    text += " at " + FormatNumber(probes::PicturesPerSecond(mode));
  }
  return text;
}

std::string LineDeviceLabel(const LineDevice& device) {
  const std::string name = !device.source.empty()   ? device.source
                           : device.at.card.empty() ? device.at.name
                                                    : device.at.card;
  const std::string label = name.empty()             ? device.at.node
                            : device.at.node.empty() ? name
                                                     : name + " (" + device.at.node + ")";
  return base::Printable(label);
}

LineDocument JudgeLineCheck(LineCheck check, const probes::UsbInventory& usb) {
  std::vector<LineFinding> found;
  AddBandwidthFindings(check, usb, found);
  for (const LineDevice& device : check.devices) {
    AddDeviceFindings(device, found);
  }
  AddNeighbourFindings(check, found);
  if (AnythingTried(check)) {
    AddLogFindings(check.kernel_log, found);
  }
  LineDocument document;
  document.verdict = VerdictOf(check, found);
  document.complete = !check.interrupted;
  std::stable_sort(found.begin(), found.end(), [](const LineFinding& a, const LineFinding& b) {
    return a.finding.severity != b.finding.severity ? a.finding.severity < b.finding.severity
                                                    : BadnessOf(a.least) > BadnessOf(b.least);
  });
  for (LineFinding& each : found) {
    document.findings.push_back(std::move(each.finding));
  }
  document.headline = Headline(check, document.verdict, document.findings);
  document.check = std::move(check);
  return document;
}

}  // namespace report
