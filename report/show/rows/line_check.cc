// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/line_check.h"

#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/fields/line_check.h"
#include "report/show/rows/verdict.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using probes::LineDevice;
using probes::LinePictures;
using show::Cell;
using show::Mark;

Cell Count(std::int64_t count, Mark mark) {
  return {FormatCount(count), count > 0 ? mark : Mark::kNone};
}

/// The mode and where the device is.
std::string RestOf(const LineDevice& device) {
  const auto& mode = device.mode ? device.mode : device.asked;
  std::string text = mode ? LineModeText(*mode) : "";
  const std::string place = !device.at.usb_path.empty()      ? "USB " + device.at.usb_path
                            : !device.at.pci_address.empty() ? "PCI " + device.at.pci_address
                                                             : "";
  text += (text.empty() || place.empty() ? "" : ", ") + place;
  return text;
}

std::vector<Cell> RowOf(const LineDevice& device) {
  const LinePictures& pictures = device.pictures;
  const auto rate = pictures.delivered_rate;
  const auto first = device.first_picture_ms;
  const bool fine = device.outcome == probes::LineOutcome::kRan;
  return {{LineDeviceLabel(device)},
          {rate ? fmt::format("{:.2f}", rate->per_second) : "-"},
          {FormatCount(pictures.delivered)},
          Count(pictures.lost + pictures.missing_by_time, Mark::kStop),
          Count(pictures.flagged + pictures.short_pictures, Mark::kWarn),
          {pictures.jitter ? fmt::format("{:.1f} ms", pictures.jitter->p99_ms) : "-"},
          {first ? fmt::format("{:.2f} s", *first / 1000) : "-"},
          {std::string(stored::WordOf(device.outcome)), fine ? Mark::kNone : Mark::kStop}};
}

show::Part DevicesPart(const probes::LineCheck& check) {
  show::Table table{"Devices, all together",
                    {{"Device", false, false, 12},
                     {"Per second", true},
                     {"Frames", true},
                     {"Dropped", true},
                     {"Damaged", true},
                     {"Jitter p99", true},
                     {"First", true},
                     {"Outcome"}},
                    {}};
  for (const LineDevice& device : check.devices) {
    table.rows.push_back(RowOf(device));
    table.below.push_back(RestOf(device));
  }
  return table.rows.empty() ? show::Part{} : show::Part{table.caption, {table}};
}

std::string WhatWasRun(const probes::LineCheck& check) {
  std::string text = Plural(static_cast<std::int64_t>(check.devices.size()), "capture device");
  text += check.seconds > 0 ? " for " + base::FormatSeconds(check.seconds) : ", none was run";
  if (check.seconds > 0 && check.seconds < check.asked_seconds) {
    text += " of " + base::FormatSeconds(check.asked_seconds);
  }
  if (check.with_profile) {
    text += "; " + check.profile;
  }
  return check.started_at.empty() ? text : text + ", started " + check.started_at;
}

show::Part CheckedPart(const LineDocument& document) {
  const probes::LineCheck& check = document.check;
  show::Facts facts;
  facts.Add("Checked", WhatWasRun(check));
  if (!document.complete) {
    facts.Add("Incomplete", "stopped on request");
  }
  if (!check.not_checked.empty()) {
    facts.Add("Left out", fmt::format("sources that arrive by network: {}",
                                      fmt::join(check.not_checked, ", ")));
  }
  if (!check.devices.empty() && check.unreadable_processes > 0) {
    facts.Add("Not seen",
              fmt::format("{} of other users may not be looked into: whether one of them uses a "
                          "device shows only when that is tried.",
                          CountText(check.unreadable_processes, "process", "processes")));
  }
  if (check.kernel_log.lines_read) {
    facts.Add("Kernel log", fmt::format("{} read during the check, {} of them tell of trouble or "
                                        "change",
                                        Plural(*check.kernel_log.lines_read, "line"),
                                        check.kernel_log.matches.size()));
  }
  return {"What was checked", {facts}};
}

/// What to stop for first.
show::Part FindingsPart(const std::vector<Finding>& findings) {
  constexpr std::size_t kMostEvidence = 6;
  show::Part part{"Findings", {}};
  for (const Severity severity : {Severity::kStop, Severity::kWarn, Severity::kNote}) {
    for (const Finding& finding : findings) {
      if (finding.severity != severity) {
        continue;
      }
      const Cell word = SeverityCell(severity);
      part.blocks.emplace_back(show::Lines{show::CellsOf(finding.evidence),
                                           kMostEvidence,
                                           show::When::kAlways,
                                           {word.text + ": " + finding.title, word.mark}});
      if (!finding.action.empty()) {
        part.blocks.emplace_back(show::Note{{"Do: " + finding.action}});
      }
    }
  }
  if (part.blocks.empty()) {
    part.blocks.emplace_back(show::Note{{"None."}});
  }
  return part;
}

}  // namespace

show::Sheet SheetOf(const LineDocument& document) {
  const VerdictWords words = WordsOf(document.verdict);
  show::Sheet sheet{"Line check",
                    {words.word, words.mark},
                    document.headline,
                    {CheckedPart(document), DevicesPart(document.check)}};
  if (!document.check.devices.empty()) {
    sheet.parts.push_back(FindingsPart(document.findings));
  }
  return sheet;
}

}  // namespace report
