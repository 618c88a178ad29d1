// SPDX-License-Identifier: Apache-2.0
//
// A line-check on a terminal.

#include "report/line_check/line_check.h"

#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/fields/line_check.h"
#include "report/show/terminal/sections.h"
#include "report/show/terminal/table.h"
#include "report/show/terminal/text.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using probes::LineDevice;
using probes::LineOutcome;
using probes::LinePictures;

constexpr int kLabelColumns = 11;

Piece Count(std::int64_t count, Tone tone) {
  return {FormatCount(count), count > 0 ? tone : Tone::kPlain};
}

std::string RateCell(const LinePictures& pictures) {
  return pictures.delivered_rate ? fmt::format("{:.2f}", pictures.delivered_rate->per_second) : "-";
}

std::string JitterCell(const LinePictures& pictures) {
  return pictures.jitter ? fmt::format("{:.1f} ms", pictures.jitter->p99_ms) : "-";
}

std::string FirstCell(const LineDevice& device) {
  return device.first_picture_ms ? fmt::format("{:.2f} s", *device.first_picture_ms / 1000) : "-";
}

std::string BelowText(const LineDevice& device) {
  std::string text;
  const auto& mode = device.mode ? device.mode : device.asked;
  if (mode) {
    text = LineModeText(*mode);
  }
  const std::string place = !device.at.usb_path.empty()      ? "USB " + device.at.usb_path
                            : !device.at.pci_address.empty() ? "PCI " + device.at.pci_address
                                                             : "";
  text += (text.empty() || place.empty() ? "" : ", ") + place;
  return text;
}

void PutDevices(TerminalPage& page, const probes::LineCheck& check) {
  if (check.devices.empty()) {
    return;
  }
  page.Heading("Devices, all together");
  TerminalTable table;
  table.columns = {{"device", false, 12}, {"per second", true}, {"frames", true},
                   {"lost", true},        {"damaged", true},    {"jitter p99", true},
                   {"first", true},       {"outcome", false, 8}};
  for (const LineDevice& device : check.devices) {
    const LinePictures& pictures = device.pictures;
    const bool fine = device.outcome == LineOutcome::kRan;
    table.rows.push_back(
        {{LineDeviceLabel(device)},
         {RateCell(pictures)},
         {FormatCount(pictures.delivered)},
         Count(pictures.lost + pictures.missing_by_time, Tone::kStop),
         Count(pictures.flagged + pictures.short_pictures, Tone::kWarn),
         {JitterCell(pictures)},
         {FirstCell(device)},
         {std::string(stored::WordOf(device.outcome)), fine ? Tone::kPlain : Tone::kStop}});
    table.below.push_back(BelowText(device));
  }
  PutTable(page, 2, table);
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

}  // namespace

std::string WriteLineCheckText(const LineDocument& document, const TerminalStyle& style) {
  const probes::LineCheck& check = document.check;
  TerminalPage page(style);
  page.Beside(0, VerdictPiece(document.verdict), kLabelColumns, {document.headline, Tone::kStrong});
  page.Beside(0, {"checked"}, kLabelColumns, {WhatWasRun(check), Tone::kDim});
  if (!document.complete) {
    page.Beside(0, {"INCOMPLETE", Tone::kWarn}, kLabelColumns, {"stopped on request"});
  }
  if (!check.not_checked.empty()) {
    page.Beside(
        0, {"left out"}, kLabelColumns,
        {fmt::format("sources that arrive by network: {}", fmt::join(check.not_checked, ", "))});
  }
  PutDevices(page, check);
  if (!check.devices.empty()) {
    PutFindings(page, document.findings);
  }
  if (!check.devices.empty() && check.unreadable_processes > 0) {
    page.Blank();
    page.Paragraph(
        0, {fmt::format("{} of other users may not be looked into: whether one of them uses a "
                        "device shows only when that is tried.",
                        CountText(check.unreadable_processes, "process", "processes")),
            Tone::kDim});
  }
  if (check.kernel_log.lines_read) {
    page.Blank();
    page.Paragraph(
        0,
        {fmt::format("Kernel log: {} read during the check, {} of them tell of trouble or change.",
                     Plural(*check.kernel_log.lines_read, "line"), check.kernel_log.matches.size()),
         Tone::kDim});
  }
  return page.text();
}

}  // namespace report
