// SPDX-License-Identifier: Apache-2.0
//
// Which capture node carries which source.

#include <algorithm>
#include <functional>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/demand.h"
#include "profiles/demand/stream_url.h"
#include "report/line_check/line_check.h"

namespace report {
namespace {

using probes::CaptureNode;
using probes::LineDevice;
using probes::LineOutcome;

bool Named(const CaptureNode& node, const std::string& text) {
  const std::string names =
      node.name + "\n" + node.card + "\n" + node.driver + "\n" + node.pci_address;
  const bool whole = node.node.size() == text.size() && ContainsInAnyCase(node.node, text);
  return whole || ContainsInAnyCase(names, text);
}

bool Lists(const CaptureNode& node, const std::string& pixel_format) {
  return std::find(node.pixel_formats.begin(), node.pixel_formats.end(), pixel_format) !=
         node.pixel_formats.end();
}

/// Hands every node out once.
class Nodes {
 public:
  explicit Nodes(const std::vector<CaptureNode>& nodes) : nodes_(nodes) {}

  /// The first free node that fits and lists the format, else the first that fits.
  const CaptureNode* Take(const std::string& pixel_format,
                          const std::function<bool(const CaptureNode&)>& fits) {
    const CaptureNode* best = nullptr;
    for (const CaptureNode& node : nodes_) {
      const bool free = taken_.count(node.node) == 0 && fits(node);
      if (free && (best == nullptr || (!Lists(*best, pixel_format) && Lists(node, pixel_format)))) {
        best = &node;
      }
    }
    if (best != nullptr) {
      taken_.insert(best->node);
    }
    return best;
  }

 private:
  const std::vector<CaptureNode>& nodes_;
  std::set<std::string> taken_;
};

LineDevice Wanted(const profiles::Source& source) {
  LineDevice device;
  device.source = source.name;
  device.asked = probes::LineMode{source.pixel_format, source.raster.width, source.raster.height,
                                  source.rate.numerator(), source.rate.denominator()};
  device.outcome = LineOutcome::kNotThere;
  return device;
}

void Assign(const CaptureNode* node, const std::string& why_none, LineDevice& device) {
  if (node == nullptr) {
    device.reason = why_none;
    return;
  }
  device.at = *node;
  device.outcome = LineOutcome::kNotTried;
}

void AssignUsb(const SourceMatch& usb, Nodes& nodes, LineDevice& device) {
  const MatchedSource* matched = usb.Of(device.source);
  if (matched == nullptr || matched->device_path.empty()) {
    device.reason = "no capture device on USB for it";
    return;
  }
  const std::string& path = matched->device_path;
  Assign(nodes.Take(device.asked->pixel_format,
                    [&](const CaptureNode& node) { return node.usb_path == path; }),
         "the device at " + path + " has no capture node: no driver is bound to it", device);
}

/// Nodes that others hold and no source of the profile takes: they share links with those.
void KeepOthersInUse(const std::vector<CaptureNode>& nodes, probes::LineCheck& check) {
  for (const CaptureNode& node : nodes) {
    const bool taken =
        std::any_of(check.devices.begin(), check.devices.end(),
                    [&](const LineDevice& device) { return device.at.node == node.node; });
    if (!taken && !node.users.empty()) {
      check.others_in_use.push_back(node);
    }
  }
}

}  // namespace

std::vector<LineDevice> EveryNode(const std::vector<CaptureNode>& nodes) {
  std::vector<LineDevice> devices;
  for (const CaptureNode& node : nodes) {
    LineDevice device;
    device.at = node;
    devices.push_back(std::move(device));
  }
  return devices;
}

std::vector<LineDevice> ChooseNodes(const profiles::Profile& profile, const SourceMatch& usb,
                                    const std::vector<CaptureNode>& nodes) {
  std::vector<LineDevice> devices;
  std::vector<std::string> named;  // by each device's source; empty: it names nothing
  std::vector<bool> on_pcie;
  Nodes free(nodes);
  for (const profiles::Source& source : profile.sources) {
    if (source.arrives_by == profiles::ArrivesBy::kNetwork) {
      continue;
    }
    devices.push_back(Wanted(source));
    on_pcie.push_back(source.arrives_by == profiles::ArrivesBy::kPcie);
    named.push_back(source.device);
    if (!on_pcie.back()) {
      AssignUsb(usb, free, devices.back());
    }
  }
  for (const bool with_name : {true, false}) {
    for (std::size_t i = 0; i < devices.size(); ++i) {
      if (!on_pcie[i] || named[i].empty() == with_name) {
        continue;
      }
      const auto fits = [&](const CaptureNode& node) {
        return node.usb_path.empty() && (!with_name || Named(node, named[i]));
      };
      Assign(free.Take(devices[i].asked->pixel_format, fits),
             with_name ? "no capture node with \"" + named[i] + "\" in its name"
                       : "no capture node for it that is not on USB",
             devices[i]);
    }
  }
  return devices;
}

void ChooseForProfile(const profiles::Profile& profile, const probes::UsbInventory& usb,
                      const std::vector<CaptureNode>& nodes, probes::LineCheck& check) {
  check.with_profile = true;
  check.profile = profiles::WithMaskedUrls(profile.name);
  const SourceMatch match = MatchUsbSources(profile, profiles::SumDemand(profile), usb);
  check.devices = ChooseNodes(profile, match, nodes);
  KeepOthersInUse(nodes, check);
  for (const profiles::Source& source : profile.sources) {
    if (source.arrives_by == profiles::ArrivesBy::kNetwork) {
      check.not_checked.push_back(source.name);
    }
  }
}

std::string UsersText(const probes::LineCheck& check) {
  std::string text;
  const auto add = [&text](const std::string& label, const CaptureNode& node) {
    for (const probes::NodeUser& user : node.users) {
      text += fmt::format("{}{} is held open by {} (process {})", text.empty() ? "" : "; ", label,
                          base::Printable(user.process, 60), user.pid);
    }
  };
  for (const LineDevice& device : check.devices) {
    add(LineDeviceLabel(device), device.at);
  }
  for (const CaptureNode& node : check.others_in_use) {
    add(base::Printable(node.name + " (" + node.node + ")"), node);
  }
  return text;
}

void LeaveAlone(probes::LineCheck& check) {
  for (LineDevice& device : check.devices) {
    if (device.outcome != LineOutcome::kNotTried) {
      continue;
    }
    const bool busy = !device.at.users.empty();
    device.outcome = busy ? LineOutcome::kInUse : LineOutcome::kNotTried;
    device.reason = busy ? "left alone" : "left alone because another device is in use";
  }
}

bool LeftAlone(const LineDevice& device) {
  return device.outcome == LineOutcome::kInUse && !device.before;
}

}  // namespace report
