// SPDX-License-Identifier: Apache-2.0
//
// Devices that found no bandwidth, tied to the link that has no more.

#include <string>
#include <utility>

#include <fmt/format.h>

#include "report/line_check/findings.h"
#include "report/line_check/line_check.h"
#include "report/loads/usb_load.h"
#include "report/words/cautions.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using probes::LineDevice;
using probes::LineOutcome;

constexpr int kDeepest = 12;  // USB allows seven tiers; a stored tree may lie

/// "hub NAME (2-1) (physical hub 1-1+2-1), root hub usb2, controller 0000:00:14.0".
std::string WayUp(const probes::UsbInventory& usb, const probes::UsbDevice& device) {
  std::string way;
  const probes::UsbDevice* up = FindDevice(usb, device.parent);
  for (int tier = 0; up != nullptr && tier < kDeepest; ++tier) {
    way += way.empty() ? "" : ", ";
    way += up->parent.empty() ? "root hub " + up->path : "hub " + DeviceLabel(*up);
    if (!up->physical_hub.empty() && up->physical_hub != up->path && !up->parent.empty()) {
      way += " (physical hub " + up->physical_hub + ")";
    }
    up = FindDevice(usb, up->parent);
  }
  if (const auto* controller = FindController(usb, device.bus)) {
    way += (way.empty() ? "" : ", ") + ("controller " + controller->address);
  }
  return way;
}

std::string ModeOf(const LineDevice& device) {
  const auto& mode = device.mode ? device.mode : device.asked;
  return mode ? LineModeText(*mode) : "at its current mode";
}

void AddNeighbours(const probes::LineCheck& check, const probes::UsbInventory& usb,
                   const probes::UsbDevice& refused, std::vector<std::string>& evidence) {
  for (const LineDevice& other : check.devices) {
    const probes::UsbDevice* device = FindDevice(usb, other.at.usb_path);
    if (device == nullptr || device->path == refused.path || device->bus != refused.bus) {
      continue;
    }
    const bool same_hub = device->parent == refused.parent;
    evidence.push_back(
        fmt::format("{}: {} at {}, {}{}", same_hub ? "on the same hub" : "on the same bus",
                    LineDeviceLabel(other), device->path, ModeOf(other),
                    other.outcome == LineOutcome::kNoBandwidth ? ", no bandwidth either" : ""));
  }
}

/// Controllers of this PC that the refused device is not on.
std::string OtherControllers(const probes::UsbInventory& usb, int bus) {
  const auto* own = FindController(usb, bus);
  std::string others;
  for (const probes::UsbController& controller : usb.controllers) {
    if (&controller != own && !controller.buses.empty()) {
      others += (others.empty() ? "" : ", ") + controller.address;
    }
  }
  return others;
}

/// The older controllers have one bus for all ports; on the others each port of the PC has its own.
std::string Elsewhere(const probes::UsbInventory& usb, int bus) {
  const probes::UsbController* own = FindController(usb, bus);
  const bool one_bus = own != nullptr && OneBus(*own);
  const std::string others = OtherControllers(usb, bus);
  std::string places = others.empty() ? "" : "a port of another controller (" + others + ")";
  if (!one_bus) {
    places = "another port of the PC itself" + (places.empty() ? "" : ", best " + places);
  }
  if (places.empty()) {
    return WithCaution(
        "Choose a smaller or a compressed mode: this PC has no other USB controller. A card with "
        "one of its own would give the device a bus for itself.",
        kCautionInside);
  }
  return "Move it, or one that shares its bus, to " + places +
         (one_bus ? "; another port of the same controller does not help" : "") +
         ". Or choose a smaller or a compressed mode.";
}

LineFinding NoBandwidth(const probes::LineCheck& check, const probes::UsbInventory& usb,
                        const LineDevice& refused) {
  LineFinding made;
  made.least = Verdict::kShort;
  made.finding.id = "line-no-bandwidth";
  made.finding.severity = Severity::kStop;
  made.finding.title = "No bandwidth for " + LineDeviceLabel(refused);
  made.finding.about = SubjectsOf(refused);
  made.finding.bears_on = {Resource::kUsb};
  auto& evidence = made.finding.evidence;
  evidence.push_back(ModeOf(refused) + ": " + refused.reason);
  const probes::UsbDevice* device = FindDevice(usb, refused.at.usb_path);
  if (device == nullptr) {
    evidence.push_back("its place on USB is not known");
    made.finding.action = "Choose a smaller or a compressed mode, then check again.";
    return made;
  }
  evidence.push_back(fmt::format("at {}, {}; above it {}", device->path,
                                 FormatLinkSpeed(device->speed_mbps), WayUp(usb, *device)));
  AddNeighbours(check, usb, *device, evidence);
  made.finding.action = Elsewhere(usb, device->bus);
  return made;
}

/// A link that came up slow is why a device offers or carries less than it should.
void SlowLink(const probes::UsbInventory& usb, const LineDevice& checked,
              std::vector<LineFinding>& findings) {
  const probes::UsbDevice* device = FindDevice(usb, checked.at.usb_path);
  const bool as_asked =
      checked.outcome == LineOutcome::kRan &&
      (!checked.asked || !checked.mode || probes::SameMode(*checked.asked, *checked.mode));
  if (device == nullptr || as_asked || !device->best_speed_mbps ||
      *device->best_speed_mbps <= device->speed_mbps) {
    return;
  }
  LineFinding made;
  made.least = Verdict::kTight;
  made.finding.id = "line-slow-link";
  made.finding.severity = Severity::kWarn;
  made.finding.title =
      fmt::format("{} runs at {} and could do {}", LineDeviceLabel(checked),
                  FormatLinkSpeed(device->speed_mbps), FormatLinkSpeed(*device->best_speed_mbps));
  made.finding.about = SubjectsOf(checked);
  made.finding.bears_on = {Resource::kUsb};
  made.finding.evidence = {fmt::format("at {}; above it {}", device->path, WayUp(usb, *device))};
  made.finding.action =
      "Try another cable (short, made for the speed) and a port of the faster "
      "kind, push the plug in quickly and fully, leave out extensions.";
  findings.push_back(std::move(made));
}

}  // namespace

void AddBandwidthFindings(const probes::LineCheck& check, const probes::UsbInventory& usb,
                          std::vector<LineFinding>& findings) {
  for (const LineDevice& device : check.devices) {
    if (device.outcome == LineOutcome::kNoBandwidth) {
      findings.push_back(NoBandwidth(check, usb, device));
    }
    SlowLink(usb, device, findings);
  }
}

}  // namespace report
