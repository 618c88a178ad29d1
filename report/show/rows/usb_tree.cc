// SPDX-License-Identifier: Apache-2.0
//
// USB devices as a tree, each below its hub.

#include <algorithm>
#include <cstddef>
#include <utility>

#include <fmt/format.h>

#include "report/fields/words.h"
#include "report/loads/usb_load.h"
#include "report/show/rows/machine.h"
#include "report/show/rows/unknowns.h"
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

std::string SpeedText(const probes::UsbDevice& device) {
  return device.speed_mbps > 0 ? FormatLinkSpeed(device.speed_mbps) : "speed unknown";
}

/// Power saving of what captures nothing, and why the rest is not known.
std::string MoreRemarks(const probes::UsbDevice& device) {
  std::string text;
  if (device.power_control && *device.power_control != "auto") {
    text = *device.power_control == "on" ? ", never suspended"
                                         : ", power saving " + *device.power_control;
  } else if (device.power_control && device.role != probes::UsbRole::kCapture) {
    text = ", may be suspended";
  }
  Unknowns unknowns;
  unknowns.Add("power saving", device.power_control);
  unknowns.Add("best speed", device.best_speed_mbps);
  const std::string unknown = unknowns.Text();
  return unknown.empty() ? text : text + "; " + unknown;
}

/// Draws each device once, parents before children, however the list is tied together.
class DeviceTree {
 public:
  explicit DeviceTree(const std::vector<probes::UsbDevice>& devices)
      : devices_(devices), drawn_(devices.size(), false) {}

  void PutRoots(const std::vector<int>& buses) {
    for (std::size_t i = 0; i < devices_.size(); ++i) {
      const bool ours = std::find(buses.begin(), buses.end(), devices_[i].bus) != buses.end();
      if (ours && devices_[i].parent.empty()) {
        PutBelow(i, 0);
      }
    }
  }

  /// Devices that no controller claims.
  void PutRest() {
    for (std::size_t i = 0; i < devices_.size(); ++i) {
      PutBelow(i, 0);
    }
  }

  void PutController(const probes::UsbController& controller) {
    tree_.branches.push_back(
        {0, "",
         fmt::format("controller {}: {}, driver {}", controller.address, controller.name,
                     !controller.driver           ? "unknown: " + controller.driver.why_unknown()
                     : controller.driver->empty() ? "none"
                                                  : *controller.driver),
         false});
    PutRoots(controller.buses);
  }

  show::Tree Finish() { return std::move(tree_); }

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
    tree_.branches.push_back({depth, device.path,
                              fmt::format("{}: {}, {}{}", stored::WordOf(device.role),
                                          DeviceName(device), SpeedText(device), Remarks(device)),
                              device.role == probes::UsbRole::kCapture, MoreRemarks(device)});
  }

  show::Tree tree_;
  const std::vector<probes::UsbDevice>& devices_;
  std::vector<bool> drawn_;
};

}  // namespace

show::Part UsbPart(const probes::UsbInventory& usb) {
  show::Part part{"USB", {}};
  if (!usb.present.value_or(false)) {
    show::Facts facts;
    facts.Add("USB", usb.present, [](bool) { return "none"; });
    part.blocks.emplace_back(std::move(facts));
  }
  DeviceTree tree(usb.devices);
  for (const probes::UsbController& controller : usb.controllers) {
    tree.PutController(controller);
  }
  tree.PutRest();
  part.blocks.emplace_back(tree.Finish());
  return part;
}

}  // namespace report
