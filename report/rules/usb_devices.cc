// SPDX-License-Identifier: Apache-2.0
//
// Single capture devices.

#include <algorithm>
#include <map>
#include <optional>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/loads/subjects.h"
#include "report/loads/usb_booking.h"
#include "report/rules/rules.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report::rules {
namespace {

constexpr const char* kReadUsb =
    "Run where /sys/bus/usb can be read: on the PC itself, outside a container.";

const probes::UsbDevice* DeviceOf(const RuleInput& input, const std::string& path) {
  const UsbLink* link = FindLink(input.facts.links, path);
  return link == nullptr ? nullptr : link->device;
}

}  // namespace

void CaptureMissing(const RuleInput& input, std::vector<Finding>& findings) {
  const auto missing = input.facts.usb.Missing();
  if (missing.empty()) {
    return;
  }
  const std::size_t all = input.facts.usb.sources.size();
  const auto& present = input.facts.machine().usb.present;
  if (!present.known()) {
    Finding unread = NewFinding("usb-unread", Severity::kNote);
    unread.title = fmt::format("Whether {} plugged in is not known: USB could not be read",
                               all == 1 ? "the USB source is" : "the USB sources are");
    unread.evidence.push_back(base::Printable(present.why_unknown(), 200));
    unread.action = kReadUsb;
    for (const MatchedSource* source : missing) {
      unread.about.push_back({SubjectKind::kSource, source->source});
    }
    unread.bears_on = {Resource::kUsb};
    findings.push_back(unread);
    return;
  }
  Finding finding = NewFinding("usb-capture-missing", Severity::kWarn);
  finding.title = fmt::format("not plugged in: {} of {} found", all - missing.size(),
                              CountText(static_cast<long long>(all), "USB source", "USB sources"));
  finding.title = Capitalised(finding.title);
  for (const MatchedSource* source : missing) {
    std::string line = fmt::format("{} ({})", base::Printable(source->source), source->wanted);
    if (!source->asked.device.empty()) {
      line += fmt::format(", device \"{}\"", base::Printable(source->asked.device));
    }
    finding.evidence.push_back(line + ": no capture device for it");
    finding.about.push_back(SourceSubject(source->source));
  }
  finding.action = "Plug in every camera where it will be during the show, then run again.";
  findings.push_back(finding);
}

void ModeNotOffered(const RuleInput& input, std::vector<Finding>& findings) {
  for (const MatchedSource& source : input.facts.usb.sources) {
    const probes::UsbDevice* device = DeviceOf(input, source.device_path);
    if (source.device_path.empty() || source.mode_offered || device == nullptr) {
      continue;
    }
    Finding finding = NewFinding("usb-mode-not-offered", Severity::kWarn);
    finding.title = fmt::format("{} does not offer {} for {}", DeviceLabel(*device), source.wanted,
                                base::Printable(source.source));
    finding.about = {SubjectOf(*device), SourceSubject(source.source)};
    if (device->driver_modes.known()) {
      finding.evidence.emplace_back("by what its driver offers, not only by its descriptors");
    }
    for (const probes::CaptureMode& mode : OfferedModes(*device)) {
      if (mode.intervals_100ns.empty() || finding.evidence.size() >= 8) {
        continue;
      }
      finding.evidence.push_back(fmt::format("offers {}x{} {} at up to {:.2f}", mode.width,
                                             mode.height, base::Printable(mode.pixel_format, 40),
                                             1e7 / static_cast<double>(mode.intervals_100ns[0])));
    }
    finding.action =
        "Change the source in the profile to a mode that the device offers, or name the right "
        "device there.";
    findings.push_back(finding);
  }
}

void SlowerThanItCould(const RuleInput& input, std::vector<Finding>& findings) {
  for (const UsbLink& link : input.facts.links) {
    const probes::UsbDevice* device = link.device;
    if (device == nullptr || device->role != probes::UsbRole::kCapture ||
        !device->best_speed_mbps.known() || *device->best_speed_mbps <= device->speed_mbps) {
      continue;
    }
    Finding finding = NewFinding("usb-slower-than-it-could", Severity::kWarn);
    finding.title =
        fmt::format("{} runs at {} and could run at {}", DeviceLabel(*device),
                    FormatLinkSpeed(device->speed_mbps), FormatLinkSpeed(*device->best_speed_mbps));
    finding.evidence.push_back(fmt::format("port {}, asked for {}",
                                           base::Printable(device->path, 40),
                                           AskedText(input.facts.streams, *device)));
    finding.evidence.push_back(LinkFigures(link));
    finding.about = {SubjectOf(*device)};
    finding.action =
        "Use a faster port and a short cable made for that speed, plug it in firmly, and leave out "
        "extensions and slower hubs.";
    findings.push_back(finding);
  }
}

void HubPower(const RuleInput& input, std::vector<Finding>& findings) {
  // What one port gives a bus-powered hub (Linux drivers/usb/core/hub.c full_load).
  constexpr int kUsb2PortMa = 500;
  constexpr int kUsb3PortMa = 900;
  for (const UsbLink& hub : input.facts.links) {
    const bool bus_powered = hub.device != nullptr && hub.device->role == probes::UsbRole::kHub &&
                             !hub.RootHub() && hub.device->self_powered.known() &&
                             !*hub.device->self_powered;
    if (!bus_powered || hub.captures.empty()) {
      continue;
    }
    int sum_ma = hub.device->max_power_ma.value_or(0);
    std::vector<std::string> lines;
    std::vector<Subject> about{SubjectOf(hub)};
    for (const UsbLink& below : input.facts.links) {
      if (below.device != nullptr && below.device->parent == hub.Path() &&
          below.device->max_power_ma.known()) {
        sum_ma += *below.device->max_power_ma;
        lines.push_back(fmt::format("{} may draw {} mA", DeviceLabel(*below.device),
                                    *below.device->max_power_ma));
        about.push_back(SubjectOf(below));
      }
    }
    const int limit_ma = hub.device->speed_mbps >= 5000 ? kUsb3PortMa : kUsb2PortMa;
    if (sum_ma <= limit_ma) {
      continue;
    }
    Finding finding = NewFinding("usb-hub-power", Severity::kWarn);
    finding.title = fmt::format(
        "hub {} has no supply of its own; up to {} mA may be asked of a port that gives {}",
        DeviceLabel(*hub.device), sum_ma, limit_ma);
    finding.title = Capitalised(finding.title);
    finding.evidence = std::move(lines);
    finding.about = std::move(about);
    finding.action = "Use a hub with its own power supply, or ports of the PC itself.";
    findings.push_back(finding);
  }
}

void Autosuspend(const RuleInput& input, std::vector<Finding>& findings) {
  std::vector<std::string> lines;
  std::vector<Subject> about;
  for (const UsbLink& link : input.facts.links) {
    if (link.device != nullptr && link.device->role == probes::UsbRole::kCapture &&
        link.device->power_control.known() && *link.device->power_control == "auto") {
      lines.push_back(fmt::format("{}: power/control is \"auto\"", DeviceLabel(*link.device)));
      about.push_back(SubjectOf(link));
    }
  }
  if (lines.empty()) {
    return;
  }
  Finding finding = NewFinding("usb-autosuspend", Severity::kWarn);
  finding.title = fmt::format(
      "The system may put {} to sleep between takes",
      CountText(static_cast<long long>(lines.size()), "capture device", "capture devices"));
  finding.evidence = std::move(lines);
  finding.about = std::move(about);
  finding.action = "Set power/control to \"on\" for the capture devices (a udev rule keeps it).";
  findings.push_back(finding);
}

void UnreadDescriptors(const RuleInput& input, std::vector<Finding>& findings) {
  for (const UsbLink& link : input.facts.links) {
    const probes::UsbDevice* device = link.device;
    if (device == nullptr || device->role != probes::UsbRole::kCapture ||
        device->descriptor_fault.empty()) {
      continue;
    }
    Finding finding = NewFinding("usb-descriptors", Severity::kNote);
    finding.title =
        fmt::format("The descriptors of {} could not be read whole", DeviceLabel(*device));
    finding.evidence.push_back(base::Printable(device->descriptor_fault));
    finding.about = {SubjectOf(*device)};
    finding.action = "Check by hand that the device offers the mode that the profile asks.";
    findings.push_back(finding);
  }
}

}  // namespace report::rules
