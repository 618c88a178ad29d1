// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "report/fields/words.h"
#include "report/loads/usb_load.h"
#include "report/show/terminal/machine.h"
#include "report/words/quantities.h"

namespace report {
namespace {

/// The standard allows seven tiers (USB 3.2, 10.1); deeper is a stored tree that lies.
constexpr int kDeepest = 8;

/// Power, suspend and descriptor trouble: what bites a capture device.
std::string Remarks(const probes::UsbDevice& device) {
  std::string text;
  if (device.best_speed_mbps && *device.best_speed_mbps > device.speed_mbps) {
    text += ", could do " + FormatLinkSpeed(*device.best_speed_mbps);
  }
  if (device.power_control && *device.power_control == "auto" &&
      device.role == probes::UsbRole::kCapture) {
    text += ", may be suspended";
  }
  if (!device.video_nodes.empty()) {
    text += ", " + device.video_nodes.front();
  }
  if (!device.descriptor_fault.empty()) {
    text += ", descriptors: " + device.descriptor_fault;
  }
  return text;
}

/// Draws each device once, parents before children, however the list is tied together.
class Tree {
 public:
  Tree(TerminalPage& page, const std::vector<probes::UsbDevice>& devices)
      : page_(page), devices_(devices), drawn_(devices.size(), false) {}

  void PutRoots(const std::vector<int>& buses) {
    for (std::size_t i = 0; i < devices_.size(); ++i) {
      const bool ours = std::find(buses.begin(), buses.end(), devices_[i].bus) != buses.end();
      if (ours && devices_[i].parent.empty()) {
        PutBelow(i, 1);
      }
    }
  }

  /// Devices that no controller claims.
  void PutRest() {
    for (std::size_t i = 0; i < devices_.size(); ++i) {
      PutBelow(i, 1);
    }
  }

 private:
  void PutBelow(std::size_t root, int depth) {
    std::vector<std::pair<std::size_t, int>> open{{root, depth}};
    while (!open.empty()) {
      const auto [at, level] = open.back();
      open.pop_back();
      if (drawn_[at]) {
        continue;
      }
      drawn_[at] = true;
      PutDevice(devices_[at], level);
      for (std::size_t i = devices_.size(); i-- > 0;) {
        if (!drawn_[i] && devices_[i].parent == devices_[at].path) {
          open.emplace_back(i, std::min(level + 1, kDeepest));
        }
      }
    }
  }

  void PutDevice(const probes::UsbDevice& device, int depth) {
    const int lead = std::max(8, DisplayWidth(device.path) + 1);
    page_.Beside(2 * depth, {device.path}, std::min(lead, 20),
                 {fmt::format("{}: {}, {}{}", stored::WordOf(device.role), DeviceName(device),
                              FormatLinkSpeed(device.speed_mbps), Remarks(device)),
                  device.role == probes::UsbRole::kCapture ? Tone::kStrong : Tone::kPlain});
  }

  TerminalPage& page_;
  const std::vector<probes::UsbDevice>& devices_;
  std::vector<bool> drawn_;
};

}  // namespace

void PutUsb(TerminalPage& page, const probes::UsbInventory& usb) {
  page.Heading("USB");
  if (!usb.present) {
    page.FactUnknown("USB", usb.present.why_unknown());
  } else if (!*usb.present) {
    page.Fact("USB", "none");
  }
  Tree tree(page, usb.devices);
  for (const probes::UsbController& controller : usb.controllers) {
    page.Beside(0, {}, 2,
                {fmt::format("controller {}: {}, driver {}", controller.address, controller.name,
                             DriverText(controller.driver))});
    tree.PutRoots(controller.buses);
  }
  tree.PutRest();
}

}  // namespace report
