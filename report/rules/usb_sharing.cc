// SPDX-License-Identifier: Apache-2.0
//
// Captures that share a hub, a controller or a link.

#include <algorithm>
#include <map>
#include <set>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/headroom/headroom.h"
#include "report/loads/pcie_load.h"
#include "report/loads/subjects.h"
#include "report/rules/rules.h"
#include "report/words/cautions.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report::rules {
namespace {

using Captures = std::vector<const probes::UsbDevice*>;

std::string LoadText(const UsbLink& link) {
  const std::string asked = base::FormatBytesPerSecond(link.bytes_per_second) +
                            (link.assumed_bytes_per_second > 0 ? " (partly assumed)" : "");
  if (!link.capacity_bytes_per_second) {
    return asked + " needed, capacity unknown";
  }
  return fmt::format("{} needed of {}", asked,
                     base::FormatBytesPerSecond(*link.capacity_bytes_per_second));
}

void AddCaptures(const RuleInput& input, const Captures& captures, Finding& finding) {
  AddSubjects(captures, finding.about);
  for (const probes::UsbDevice* device : captures) {
    finding.evidence.push_back(fmt::format("capture {} at {}, {}", DeviceLabel(*device),
                                           FormatLinkSpeed(device->speed_mbps),
                                           AskedText(input.facts.streams, *device)));
  }
}

std::string PhysicalHubText(const probes::UsbDevice& device) {
  return device.physical_hub.empty()
             ? ""
             : fmt::format(" (physical hub {})", base::Printable(device.physical_hub, 80));
}

// One physical hub: both halves of it, with all captures below either.
struct PhysicalHub {
  std::vector<const UsbLink*> halves;
  Captures captures;
};

std::map<std::string, PhysicalHub> PhysicalHubs(const std::vector<UsbLink>& links) {
  std::map<std::string, PhysicalHub> hubs;
  for (const UsbLink& link : links) {
    if (link.device == nullptr || link.RootHub() || link.device->role != probes::UsbRole::kHub ||
        link.captures.empty()) {
      continue;
    }
    const std::string& name = link.device->physical_hub;
    PhysicalHub& hub = hubs[name.empty() ? link.device->path : name];
    hub.halves.push_back(&link);
    hub.captures.insert(hub.captures.end(), link.captures.begin(), link.captures.end());
  }
  return hubs;
}

bool SameCaptures(const PhysicalHub& a, const PhysicalHub& b) {
  return std::set(a.captures.begin(), a.captures.end()) ==
         std::set(b.captures.begin(), b.captures.end());
}

// A hub whose captures all hang behind one hub further down says nothing new.
bool ToldByInnerHub(const std::map<std::string, PhysicalHub>& hubs, const PhysicalHub& hub) {
  return std::any_of(hubs.begin(), hubs.end(), [&](const auto& entry) {
    const PhysicalHub& inner = entry.second;
    return &inner != &hub && SameCaptures(inner, hub) &&
           inner.halves.front()->depth > hub.halves.front()->depth;
  });
}

// Root ports that captures of a controller stand on.
std::size_t RootPortsInUse(const std::vector<UsbLink>& links, const UsbLink& controller) {
  std::set<std::string> ports;
  for (const probes::UsbDevice* capture : controller.captures) {
    const UsbLink* on_root = nullptr;
    for (const UsbLink* link : LinksUp(links, capture->path)) {
      on_root = link->RootHub() ? on_root : link;
    }
    if (on_root != nullptr) {
      ports.insert(on_root->Path());
    }
  }
  return ports.size();
}

// The first is what a row is of, others share it.
bool IsOf(const Headroom& row, const Subject& subject) {
  return !row.about.empty() && row.about.front() == subject;
}

// Not of time reserved on a bus.
bool OfBytes(const Headroom& row) {
  return row.unit == "bytes/s";
}

const Headroom* RowOf(const RuleInput& input, const UsbLink& link) {
  const auto found =
      std::find_if(input.headroom.begin(), input.headroom.end(), [&](const Headroom& row) {
        return row.resource == Resource::kUsb && OfBytes(row) && IsOf(row, SubjectOf(link));
      });
  return found == input.headroom.end() ? nullptr : &*found;
}

bool RecordsTo(const RuleInput& input, const std::string& device_path) {
  for (const RecordingPlace& place : input.facts.places) {
    if (place.storage == nullptr) {
      continue;
    }
    for (const probes::BlockLayer& layer : place.storage->layers) {
      if (!layer.usb_path.empty() && layer.usb_path == device_path) {
        return true;
      }
    }
  }
  return false;
}

const UsbLink* LinkOfRow(const RuleInput& input, const Headroom& row) {
  const auto found = std::find_if(input.facts.links.begin(), input.facts.links.end(),
                                  [&](const UsbLink& link) { return IsOf(row, SubjectOf(link)); });
  return row.resource != Resource::kUsb || found == input.facts.links.end() ? nullptr : &*found;
}

// PcieSharedUplink says more of a link that captures and a recording disk share.
bool ToldAsShared(const RuleInput& input, const Headroom& row) {
  if (row.resource != Resource::kPcie) {
    return false;
  }
  const std::vector<PcieLoad> loads = PcieLoads(input.facts);
  return std::any_of(loads.begin(), loads.end(), [&](const PcieLoad& load) {
    return load.Capture() && load.Recording() && IsOf(row, PciSubject(load.hop.Key()));
  });
}

// That rule says more of it.
bool ToldBySetting(const RuleInput& input, const UsbLink* link) {
  return link != nullptr &&
         std::any_of(input.facts.streams.begin(), input.facts.streams.end(), [&](const auto& one) {
           return one.device == link->device && one.shown.setting_too_small;
         });
}

void AddLink(const RuleInput& input, const UsbLink& link, Finding& finding) {
  AddSubject(SubjectOf(link), finding.about);
  if (link.device != nullptr) {
    finding.evidence.push_back(fmt::format("{}{}: {}", base::Printable(link.Path(), 40),
                                           PhysicalHubText(*link.device), LinkFigures(link)));
  }
  if (link.captures.size() > 1) {
    AddCaptures(input, link.captures, finding);
  }
}

}  // namespace

void LinkOversubscribed(const RuleInput& input, std::vector<Finding>& findings) {
  for (const Headroom& row : input.headroom) {
    // Time reserved on a bus has a rule of its own, and so has a cable.
    const UsbLink* of_row = LinkOfRow(input, row);
    const bool link = (of_row != nullptr && OfBytes(row)) || row.resource == Resource::kPcie;
    if (!link || !OverCapacity(row) || ToldBySetting(input, of_row) || ToldAsShared(input, row)) {
      continue;
    }
    Finding finding = NewFinding("usb-link-oversubscribed", Severity::kStop);
    finding.title =
        fmt::format("{} must carry {} and can carry {}", row.item,
                    FormatNeeded(row.demand, row.unit), FormatAvailable(*row.capacity, row.unit));
    finding.evidence.push_back(row.source);
    finding.about = row.about;
    if (of_row != nullptr) {
      AddLink(input, *of_row, finding);
    }
    if (row.resource == Resource::kPcie) {
      finding.id = "pcie-link-oversubscribed";
      finding.bears_on = {Resource::kPcie};
      finding.rests_on = {ReportPart::kMachine};
      finding.action = WithCaution("Move the card to a slot with more lanes or a newer generation.",
                                   kCautionInside);
    } else if (of_row->device != nullptr && of_row->device->role == probes::UsbRole::kCapture) {
      finding.action =
          "Use a faster port where the device is capable of more, or ask it for fewer pixels, "
          "fewer "
          "pictures or a more compact pixel format.";
    } else {
      finding.bears_on = {Resource::kUsb};
      finding.rests_on = {ReportPart::kWiring};
      finding.action =
          "Move a camera from this link to a port of its own, use a faster port, or ask for fewer "
          "pixels, a lower frame rate or a more compact pixel format.";
    }
    findings.push_back(finding);
  }
}

void SharedHub(const RuleInput& input, std::vector<Finding>& findings) {
  const auto hubs = PhysicalHubs(input.facts.links);
  for (const auto& [name, hub] : hubs) {
    if (hub.captures.size() < 2 || ToldByInnerHub(hubs, hub)) {
      continue;
    }
    double asked = 0;
    for (const UsbLink* half : hub.halves) {
      asked += half->bytes_per_second;
    }
    Finding finding = NewFinding("usb-shared-hub", asked > 0 ? Severity::kWarn : Severity::kNote);
    finding.title = fmt::format("{} capture devices share the hub {}", hub.captures.size(),
                                DeviceLabel(*hub.halves.front()->device));
    for (const UsbLink* half : hub.halves) {
      AddSubject(SubjectOf(*half), finding.about);
      finding.evidence.push_back(fmt::format(
          "{} link of hub {}{}: {}", half->device->speed_mbps >= 5000 ? "USB 3" : "USB 2",
          base::Printable(half->Path(), 40), PhysicalHubText(*half->device), LoadText(*half)));
      finding.evidence.push_back(LinkFigures(*half));
    }
    AddCaptures(input, hub.captures, finding);
    finding.action =
        "Give each camera a port of the PC itself; one hub is one cable and one plug for all of "
        "them.";
    findings.push_back(finding);
  }
}

void SharedController(const RuleInput& input, std::vector<Finding>& findings) {
  for (const UsbLink& link : input.facts.links) {
    if (link.device != nullptr || link.captures.size() < 2 || link.bytes_per_second <= 0 ||
        RootPortsInUse(input.facts.links, link) < 2) {
      continue;
    }
    const Headroom* row = RowOf(input, link);
    if (row == nullptr || (row->capacity && !BelowMargin(*row))) {
      continue;
    }
    Finding finding = NewFinding("usb-shared-controller", Severity::kWarn);
    finding.title =
        fmt::format("{} capture devices on one USB controller ask {} together",
                    link.captures.size(), base::FormatBytesPerSecond(link.bytes_per_second));
    finding.evidence.push_back(
        fmt::format("controller {}: {}", base::Printable(link.Path(), 40), LoadText(link)));
    AddSubject(SubjectOf(link), finding.about);
    AddCaptures(input, link.captures, finding);
    finding.action = WithCaution(
        "Spread the cameras over two controllers (ports of another controller, or a USB card with "
        "its own), and run all of them at once before the show.",
        kCautionInside);
    findings.push_back(finding);
  }
}

void BulkNeighbour(const RuleInput& input, std::vector<Finding>& findings) {
  for (const UsbLink& link : input.facts.links) {
    if (link.device == nullptr || (link.device->role != probes::UsbRole::kStorage &&
                                   link.device->role != probes::UsbRole::kNetwork)) {
      continue;
    }
    const UsbLink* controller = ControllerOf(input.facts.links, link.Path());
    if (controller == nullptr || controller->captures.empty()) {
      continue;
    }
    const bool storage = link.device->role == probes::UsbRole::kStorage;
    const bool recording = RecordsTo(input, link.Path());
    Finding finding = NewFinding("usb-bulk-neighbour", Severity::kWarn);
    finding.title = fmt::format(
        "{} {} is on the USB controller of {}",
        recording ? "the recording disk" : (storage ? "the disk" : "the network adapter"),
        DeviceLabel(*link.device),
        CountText(static_cast<long long>(controller->captures.size()), "capture device",
                  "capture devices"));
    finding.title = Capitalised(finding.title);
    finding.evidence.push_back(fmt::format("controller {}: {}",
                                           base::Printable(controller->Path(), 40),
                                           base::Printable(controller->controller->name)));
    finding.about = {SubjectOf(link), SubjectOf(*controller)};
    AddCaptures(input, controller->captures, finding);
    const bool elsewhere = input.facts.machine().usb.controllers.size() > 1;
    finding.action = std::string(elsewhere ? (storage ? "Move the disk" : "Move the adapter") +
                                                 std::string(" to another controller, or ")
                                           : "This PC has no other USB controller: ") +
                     (storage ? "record to an internal disk." : "use a built-in network socket.");
    findings.push_back(finding);
  }
}

}  // namespace report::rules
