// SPDX-License-Identifier: Apache-2.0
//
// Sums of capture payload up the USB tree.

#include "report/usb_load.h"

#include <algorithm>
#include <cstddef>
#include <map>
#include <set>

#include <fmt/format.h>

#include "base/text.h"
#include "report/usb_capacity.h"

namespace report {
namespace {

// USB allows seven tiers; more than this is a malformed tree.
constexpr int kDeepest = 12;
constexpr int kVideoClass = 0x0e;
constexpr int kVideoStreaming = 2;

using Children = std::map<std::string, std::vector<const probes::UsbDevice*>>;

Children ByParent(const probes::UsbInventory& usb) {
  Children children;
  for (const probes::UsbDevice& device : usb.devices) {
    if (!device.parent.empty()) {
      children[device.parent].push_back(&device);
    }
  }
  for (auto& [parent, list] : children) {
    std::stable_sort(list.begin(), list.end(),
                     [](const auto* a, const auto* b) { return a->port < b->port; });
  }
  return children;
}

bool IsEhci(const probes::UsbController& controller) {
  return controller.driver.known() && controller.driver->find("ehci") != std::string::npos;
}

class Loader {
 public:
  Loader(const probes::UsbInventory& usb, const SourceMatch& match)
      : usb_(usb), match_(match), children_(ByParent(usb)) {}

  std::vector<UsbLink> Load() {
    for (const probes::UsbController& controller : usb_.controllers) {
      AddController(controller);
    }
    for (const probes::UsbDevice& device : usb_.devices) {
      if (device.parent.empty() && seen_.count(device.path) == 0) {
        AddBranch(device, nullptr, 0);
      }
    }
    // What hangs below a device that was not read has a link of its own all the same.
    for (const probes::UsbDevice& device : usb_.devices) {
      if (!Read(device.parent)) {
        AddBranch(device, nullptr, 1);
      }
    }
    for (const probes::UsbDevice& device : usb_.devices) {
      AddBranch(device, nullptr, 1);  // a ring of parents, if a reading can be that wrong
    }
    return std::move(links_);
  }

 private:
  bool Read(const std::string& path) const {
    return std::any_of(usb_.devices.begin(), usb_.devices.end(),
                       [&](const auto& device) { return device.path == path; });
  }

  void AddController(const probes::UsbController& controller) {
    const std::size_t at = links_.size();
    UsbLink link;
    link.controller = &controller;
    links_.push_back(link);
    for (const probes::UsbDevice& device : usb_.devices) {
      const bool ours = std::find(controller.buses.begin(), controller.buses.end(), device.bus) !=
                        controller.buses.end();
      if (device.parent.empty() && ours) {
        const std::size_t root = links_.size();
        AddBranch(device, &controller, 1);
        Include(at, root);
      }
    }
    SetControllerCapacity(links_[at], controller);
  }

  // A controller carries at least what one of its ports may carry: each root
  // port has the whole bandwidth of a bus (drivers/usb/host/xhci.h). What its
  // own uplink carries beyond that is not known here. EHCI has one bus for all ports.
  void SetControllerCapacity(UsbLink& link, const probes::UsbController& controller) {
    double fastest = 0;
    for (const probes::UsbDevice& device : usb_.devices) {
      const bool ours = std::find(controller.buses.begin(), controller.buses.end(), device.bus) !=
                        controller.buses.end();
      if (device.parent.empty() && ours) {
        fastest = std::max(fastest, device.speed_mbps);
      }
    }
    link.capacity_bytes_per_second = LinkBytesPerSecond(fastest, TransferOf(link));
    link.lower_bound = !IsEhci(controller);
  }

  void AddBranch(const probes::UsbDevice& device, const probes::UsbController* controller,
                 int depth) {
    if (depth > kDeepest || !seen_.insert(device.path).second) {
      return;
    }
    const std::size_t at = links_.size();
    UsbLink link;
    link.controller = controller;
    link.device = &device;
    link.depth = depth;
    if (device.role == probes::UsbRole::kCapture) {
      link.captures.push_back(&device);
      link.bytes_per_second = match_.BytesPerSecond(device.path);
      link.isochronous = CaptureTransfer(device) == probes::TransferType::kIsochronous;
    }
    links_.push_back(link);
    const auto below = children_.find(device.path);
    if (below != children_.end()) {
      for (const probes::UsbDevice* child : below->second) {
        const std::size_t child_at = links_.size();
        AddBranch(*child, controller, depth + 1);
        Include(at, child_at);
      }
    }
    SetLinkCapacity(links_[at]);
  }

  void SetLinkCapacity(UsbLink& link) const {
    if (link.RootHub()) {
      // Not a cable: the ports of a root hub share a bus only under EHCI.
      if (link.controller != nullptr && IsEhci(*link.controller)) {
        link.capacity_bytes_per_second =
            LinkBytesPerSecond(link.device->speed_mbps, TransferOf(link));
      }
      return;
    }
    const bool one_stream = link.device->role == probes::UsbRole::kCapture;
    link.capacity_bytes_per_second =
        one_stream ? StreamBytesPerSecond(link.device->speed_mbps, TransferOf(link))
                   : LinkBytesPerSecond(link.device->speed_mbps, TransferOf(link));
  }

  static probes::TransferType TransferOf(const UsbLink& link) {
    return link.isochronous ? probes::TransferType::kIsochronous : probes::TransferType::kBulk;
  }

  // Adds the load of the branch at `child` to its parent at `at`.
  void Include(std::size_t at, std::size_t child) {
    if (child >= links_.size()) {
      return;
    }
    links_[at].bytes_per_second += links_[child].bytes_per_second;
    links_[at].isochronous = links_[at].isochronous || links_[child].isochronous;
    links_[at].captures.insert(links_[at].captures.end(), links_[child].captures.begin(),
                               links_[child].captures.end());
  }

  const probes::UsbInventory& usb_;
  const SourceMatch& match_;
  Children children_;
  std::set<std::string> seen_;
  std::vector<UsbLink> links_;
};

}  // namespace

std::string UsbLink::Path() const {
  if (device != nullptr) {
    return device->path;
  }
  return controller != nullptr ? controller->address : std::string();
}

std::vector<UsbLink> LoadUsbLinks(const probes::UsbInventory& usb, const SourceMatch& match) {
  return Loader(usb, match).Load();
}

std::string DeviceLabel(const probes::UsbDevice& device) {
  std::string name = base::Printable(device.product.empty() ? device.vendor : device.product, 60);
  if (name.empty()) {
    name = fmt::format("device {:04x}:{:04x}", device.vendor_id, device.product_id);
  }
  return fmt::format("{} ({})", name, base::Printable(device.path, 40));
}

const UsbLink* FindLink(const std::vector<UsbLink>& links, const std::string& path) {
  const auto found = std::find_if(links.begin(), links.end(),
                                  [&](const auto& link) { return link.Path() == path; });
  return found == links.end() ? nullptr : &*found;
}

const UsbLink* ControllerOf(const std::vector<UsbLink>& links, const std::string& device_path) {
  const UsbLink* link = FindLink(links, device_path);
  if (link == nullptr || link->controller == nullptr) {
    return nullptr;
  }
  return FindLink(links, link->controller->address);
}

bool AtOrBelow(const std::vector<UsbLink>& links, std::string path, const std::string& ancestor) {
  for (int tier = 0; tier <= kDeepest && !path.empty(); ++tier) {
    if (path == ancestor) {
      return true;
    }
    const UsbLink* link = FindLink(links, path);
    path = link != nullptr && link->device != nullptr ? link->device->parent : std::string();
  }
  return false;
}

probes::TransferType CaptureTransfer(const probes::UsbDevice& device) {
  // uvcvideo streams isochronously when the streaming interface has such an
  // endpoint in some alternate setting, and by bulk otherwise (uvc_video.c).
  // With no descriptors read, the lower isochronous ceiling is taken.
  bool bulk = false;
  for (const probes::UsbInterface& interface : device.interfaces) {
    if (interface.interface_class != kVideoClass || interface.subclass != kVideoStreaming) {
      continue;
    }
    for (const probes::UsbEndpoint& endpoint : interface.endpoints) {
      if (endpoint.type == probes::TransferType::kIsochronous) {
        return probes::TransferType::kIsochronous;
      }
      bulk = bulk || endpoint.type == probes::TransferType::kBulk;
    }
  }
  return bulk ? probes::TransferType::kBulk : probes::TransferType::kIsochronous;
}

}  // namespace report
