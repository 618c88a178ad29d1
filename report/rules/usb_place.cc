// SPDX-License-Identifier: Apache-2.0
//
// Places of capture devices.

#include <algorithm>
#include <cstddef>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/loads/subjects.h"
#include "report/loads/usb_driver.h"
#include "report/rules/rules.h"
#include "report/words/quantities.h"

namespace report::rules {
namespace {

// USB 2.0, 4.1.1: seven tiers with the root's, five hubs between it and a device.
constexpr std::size_t kMostHubs = 5;
constexpr std::size_t kNearlyMostHubs = 4;

// bcdUSB 2.10: a device of USB 3 on a port of USB 2 has it (USB 3.2, 9.6.1), and so have others.
bool NamesUsb21(const std::string& version) {
  const std::size_t point = version.find('.');
  const auto major = base::ParseInt(base::Trim(version.substr(0, point)));
  const auto minor = point == std::string::npos
                         ? std::nullopt
                         : base::ParseInt(base::Trim(version.substr(point + 1)));
  constexpr int kTenths = 10;
  return major && minor && *major == 2 && *minor >= kTenths;
}

// Hubs on the way from a link up, itself too, without the root's.
std::vector<const UsbLink*> HubsUp(const std::vector<UsbLink>& links, const UsbLink& link) {
  std::vector<const UsbLink*> hubs = LinksUp(links, link.Path());
  std::erase_if(hubs, [](const UsbLink* one) {
    return one->RootHub() || one->device->role != probes::UsbRole::kHub;
  });
  return hubs;
}

bool HasHubBelow(const std::vector<UsbLink>& links, const UsbLink& hub) {
  return std::any_of(links.begin(), links.end(), [&](const UsbLink& one) {
    return one.device != nullptr && one.device->role == probes::UsbRole::kHub &&
           one.device->parent == hub.Path();
  });
}

std::string SourceOn(const RuleInput& input, const probes::UsbDevice& device) {
  const UsbStream* stream = FindStream(input.facts.streams, &device);
  return stream == nullptr || !stream->counted ? std::string("no source of the profile uses it")
                                               : "source " + base::Printable(stream->shown.source);
}

}  // namespace

void NoPictures(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::UsbInventory& usb = input.facts.machine().usb;
  for (const probes::UsbDevice& device : usb.devices) {
    const std::string why = WhyNoPictures(usb, device);
    if (why.empty()) {
      continue;
    }
    Finding finding = NewFinding("usb-no-pictures", Severity::kWarn);
    finding.about = {SubjectOf(device)};
    finding.title = fmt::format("{} gives no pictures: {}", DeviceLabel(device), why);
    finding.evidence.push_back(
        fmt::format("port {}, {}", base::Printable(device.path, 40), SourceOn(input, device)));
    const std::string elsewhere = VideoDriverElsewhere(usb, device);
    if (!elsewhere.empty()) {
      finding.evidence.push_back(
          fmt::format("{} has taken other devices: it refused this one, or was told to let it go",
                      base::Printable(elsewhere, 40)));
    }
    finding.action =
        "Plug it out and in again and read the kernel's log (`journalctl -k`) for what its driver "
        "says; for most devices that driver is uvcvideo (`modprobe uvcvideo`).";
    findings.push_back(std::move(finding));
  }
}

void MayBeFaster(const RuleInput& input, std::vector<Finding>& findings) {
  constexpr double kHighSpeed = 480;
  for (const probes::UsbDevice& device : input.facts.machine().usb.devices) {
    const bool told =
        !device.capabilities.empty() || device.best_speed_mbps.value_or(0) > device.speed_mbps;
    const bool version = NamesUsb21(device.usb_version);
    const bool companions = device.companions.value_or(false);
    if (device.role != probes::UsbRole::kCapture || device.speed_mbps != kHighSpeed || told ||
        (!version && !companions)) {
      continue;
    }
    Finding finding = NewFinding("usb-may-be-faster", Severity::kNote);
    finding.about = {SubjectOf(device)};
    finding.title =
        fmt::format("{} runs at {} and {} made for {} or more", DeviceLabel(device),
                    FormatLinkSpeed(device.speed_mbps),
                    version && companions ? "is most likely" : "may be", FormatLinkSpeed(5000));
    if (companions) {
      finding.evidence.emplace_back("its descriptors have companions for SuperSpeed endpoints");
    }
    if (version) {
      finding.evidence.push_back(fmt::format(
          "it names USB {}, as devices of USB 3 do on a port of USB 2; some others do too",
          base::Printable(device.usb_version, 10)));
    }
    finding.evidence.emplace_back(
        "its list of capabilities (BOS), which would tell, is not shown (the kernel does from 6.9 "
        "on)");
    finding.action =
        "Try it on a USB 3 port with a cable made for it, and see what it runs at (`rigproof "
        "inventory`).";
    findings.push_back(std::move(finding));
  }
}

void HubDepth(const RuleInput& input, std::vector<Finding>& findings) {
  for (const UsbLink& link : input.facts.links) {
    if (link.device == nullptr || link.device->role != probes::UsbRole::kHub || link.RootHub() ||
        HasHubBelow(input.facts.links, link)) {
      continue;
    }
    const auto hubs = HubsUp(input.facts.links, link);
    if (hubs.size() < (link.captures.empty() ? kMostHubs : kNearlyMostHubs)) {
      continue;
    }
    Finding finding = NewFinding("usb-hub-depth", Severity::kNote);
    for (const UsbLink* hub : hubs) {
      AddSubject(SubjectOf(*hub), finding.about);
    }
    finding.title = fmt::format("Hub {} is the {} in a row, and USB allows five",
                                DeviceLabel(*link.device), Ordinal(hubs.size()));
    for (auto hub = hubs.rbegin(); hub != hubs.rend(); ++hub) {
      finding.evidence.push_back("hub " + DeviceLabel(*(*hub)->device));
    }
    if (hubs.size() > kMostHubs) {
      finding.evidence.emplace_back("what hangs behind it may not be found at all");
    }
    finding.action = "Put this hub, or what hangs behind it, on a port nearer to the PC.";
    findings.push_back(std::move(finding));
  }
}

}  // namespace report::rules
