// SPDX-License-Identifier: Apache-2.0
//
// Sums of capture payload up the USB tree.

#include "report/loads/usb_load.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <map>
#include <set>

#include <fmt/format.h>

#include "base/text.h"
#include "report/loads/usb_capacity.h"
#include "report/loads/usb_others.h"
#include "report/words/quantities.h"

namespace report {
namespace {

// USB allows seven tiers; more than this is a malformed tree.
constexpr int kDeepest = 12;

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

// Capacity for a load of both kinds: each takes its share of what it alone could have.
void SetMixedCapacity(UsbLink& link, const std::optional<double>& isochronous,
                      const std::optional<double>& bulk) {
  if (!isochronous || !bulk) {
    return;
  }
  const double bulk_bytes = link.bytes_per_second - link.isochronous_bytes_per_second;
  const double assumed_bulk =
      link.assumed_bytes_per_second - link.assumed_isochronous_bytes_per_second;
  if (link.isochronous_bytes_per_second <= 0 || bulk_bytes <= 0) {
    link.capacity_bytes_per_second = link.isochronous ? isochronous : bulk;
  } else {
    link.capacity_bytes_per_second =
        link.bytes_per_second /
        (link.isochronous_bytes_per_second / *isochronous + bulk_bytes / *bulk);
  }
  const double certain =
      link.isochronous_bytes_per_second - link.assumed_isochronous_bytes_per_second;
  link.certain_percent = 100 * (certain / *isochronous + (bulk_bytes - assumed_bulk) / *bulk);
}

bool OnBus(const probes::UsbController& controller, int bus) {
  return std::find(controller.buses.begin(), controller.buses.end(), bus) != controller.buses.end();
}

std::string IdsOf(const probes::UsbDevice& device) {
  return fmt::format("{:04x}:{:04x}", device.vendor_id, device.product_id);
}

class Loader {
 public:
  Loader(const probes::UsbInventory& usb, const std::vector<UsbStream>& streams)
      : usb_(usb), streams_(streams), children_(ByParent(usb)) {}

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
  bool Read(const std::string& path) const { return FindDevice(usb_, path) != nullptr; }

  void AddController(const probes::UsbController& controller) {
    const std::size_t at = links_.size();
    UsbLink link;
    link.controller = &controller;
    links_.push_back(link);
    for (const probes::UsbDevice& device : usb_.devices) {
      if (device.parent.empty() && OnBus(controller, device.bus)) {
        const std::size_t root = links_.size();
        AddBranch(device, &controller, 1);
        Include(at, root);
      }
    }
    SetMixedCapacity(links_[at],
                     ControllerBytesPerSecond(usb_, controller, probes::TransferType::kIsochronous),
                     ControllerBytesPerSecond(usb_, controller, probes::TransferType::kBulk));
    links_[at].lower_bound = !OneBus(controller);
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
    AddOwn(link);
    links_.push_back(link);
    const auto below = children_.find(device.path);
    if (below != children_.end()) {
      for (const probes::UsbDevice* child : below->second) {
        const std::size_t child_at = links_.size();
        AddBranch(*child, controller, depth + 1);
        Include(at, child_at);
      }
    }
    SetCapacity(links_[at]);
    SetTime(links_[at]);
  }

  void AddOwn(UsbLink& link) const {
    if (link.device->role != probes::UsbRole::kCapture) {
      return;
    }
    link.captures.push_back(link.device);
    link.isochronous = CaptureTransfer(*link.device) == probes::TransferType::kIsochronous;
    const UsbStream* stream = StreamOf(*link.device);
    if (stream != nullptr && stream->counted) {
      link.bytes_per_second = stream->shown.bytes_per_second;
      link.isochronous_bytes_per_second = link.isochronous ? link.bytes_per_second : 0;
      link.assumed_bytes_per_second = stream->shown.assumed ? link.bytes_per_second : 0;
      link.assumed_isochronous_bytes_per_second =
          link.isochronous ? link.assumed_bytes_per_second : 0;
    }
  }

  const UsbStream* StreamOf(const probes::UsbDevice& device) const {
    return FindStream(streams_, &device);
  }

  void SetCapacity(UsbLink& link) const {
    const double speed = link.device->speed_mbps;
    const int lanes = LanesOf(*link.device);
    // Not a cable: the ports of a root hub share a bus only under EHCI.
    if (link.RootHub() && link.Scheduler() != UsbScheduler::kEhci) {
      return;
    }
    if (const UsbStream* own = StreamOf(*link.device)) {
      const auto holds = OwnLinkBytesPerSecond(*own, speed, lanes);
      SetMixedCapacity(link, holds, holds);
      return;
    }
    SetMixedCapacity(link, LinkBytesPerSecond(speed, probes::TransferType::kIsochronous, lanes),
                     LinkBytesPerSecond(speed, probes::TransferType::kBulk, lanes));
  }

  // Time is divided on every cable, and on a root hub whose ports share one bus.
  void SetTime(UsbLink& link) const {
    if (link.RootHub() && link.Scheduler() != UsbScheduler::kEhci) {
      return;
    }
    const double speed = link.device->speed_mbps;
    link.reservable_us = ReservableUs(speed);
    for (const probes::UsbDevice* capture : link.captures) {
      const UsbStream* stream = StreamOf(*capture);
      if (stream != nullptr && stream->counted) {
        link.reserved += stream->TimeOn(speed, link.Scheduler(), LanesOf(*link.device));
      }
    }
  }

  // Adds the load of the branch at `child` to its parent at `at`.
  void Include(std::size_t at, std::size_t child) {
    if (child >= links_.size()) {
      return;
    }
    links_[at].bytes_per_second += links_[child].bytes_per_second;
    links_[at].isochronous_bytes_per_second += links_[child].isochronous_bytes_per_second;
    links_[at].assumed_bytes_per_second += links_[child].assumed_bytes_per_second;
    links_[at].assumed_isochronous_bytes_per_second +=
        links_[child].assumed_isochronous_bytes_per_second;
    links_[at].isochronous = links_[at].isochronous || links_[child].isochronous;
    links_[at].captures.insert(links_[at].captures.end(), links_[child].captures.begin(),
                               links_[child].captures.end());
  }

  const probes::UsbInventory& usb_;
  const std::vector<UsbStream>& streams_;
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

UsbScheduler UsbLink::Scheduler() const {
  return controller != nullptr && OneBus(*controller) ? UsbScheduler::kEhci : UsbScheduler::kXhci;
}

std::vector<UsbLink> LoadUsbLinks(const probes::UsbInventory& usb,
                                  const std::vector<UsbStream>& streams) {
  std::vector<UsbLink> links = Loader(usb, streams).Load();
  AddOtherPeriodic(links);
  return links;
}

std::optional<double> UsedPercent(const UsbLink& link) {
  std::optional<double> used;
  if (link.capacity_bytes_per_second.value_or(0) > 0) {
    used = link.bytes_per_second / *link.capacity_bytes_per_second * 100;
    if (link.assumed_bytes_per_second > 0) {
      used = std::max(link.certain_percent.value_or(0), std::min(*used, 100.0));
    }
  }
  if (link.reservable_us && link.reserved.most_us > *link.reservable_us) {
    const double held_us = std::max(link.reserved.least_us, *link.reservable_us);
    used = std::max(used.value_or(0), held_us / *link.reservable_us * 100);
  }
  return used;
}

std::string DeviceName(const probes::UsbDevice& device) {
  // Makers like to repeat themselves: "Acme" and "Acme Camera".
  std::string name = device.product.starts_with(device.vendor) ? "" : device.vendor;
  if (!device.product.empty()) {
    name += (name.empty() ? "" : " ") + device.product;
  }
  return name.empty() ? IdsOf(device) : name;
}

std::string DeviceLabel(const probes::UsbDevice& device) {
  std::string name = base::Printable(device.product.empty() ? device.vendor : device.product, 60);
  if (name.empty()) {
    name = "device " + IdsOf(device);
  }
  return fmt::format("{} ({})", name, base::Printable(device.path, 40));
}

double ReservedUs(const std::vector<UsbLink>& links, const UsbStream& stream) {
  const UsbLink* link = FindLink(links, stream.device->path);
  if (link == nullptr || link->device == nullptr) {
    return 0;
  }
  return stream.TimeOn(link->device->speed_mbps, link->Scheduler(), LanesOf(*link->device)).most_us;
}

std::string LinkFigures(const UsbLink& link) {
  if (link.device == nullptr) {
    return {};
  }
  const double speed = link.device->speed_mbps;
  const int lanes = LanesOf(*link.device);
  std::string text = FormatLinkSpeed(speed) + " on the wire";
  if (const auto coded = CodedBytesPerSecond(speed, lanes)) {
    text +=
        fmt::format(", {} after {}", base::FormatBytesPerSecond(*coded), LineCode(speed, lanes));
  }
  const auto usable = LinkBytesPerSecond(
      speed, link.isochronous ? probes::TransferType::kIsochronous : probes::TransferType::kBulk,
      lanes);
  if (usable) {
    text += fmt::format(", {} usable", base::FormatBytesPerSecond(*usable));
  }
  if (link.isochronous && link.reservable_us) {
    text +=
        fmt::format("; {} % of each {} may be reserved", speed == 480 ? 80 : 90, FrameWord(speed));
  }
  return text;
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

std::vector<const UsbLink*> LinksUp(const std::vector<UsbLink>& links, std::string path) {
  std::vector<const UsbLink*> way;
  for (int tier = 0; tier < kDeepest && !path.empty(); ++tier) {
    const UsbLink* link = FindLink(links, path);
    if (link == nullptr || link->device == nullptr) {
      break;
    }
    way.push_back(link);
    path = link->device->parent;
  }
  return way;
}

const probes::UsbDevice* FindDevice(const probes::UsbInventory& usb, const std::string& path) {
  const auto found =
      std::find_if(usb.devices.begin(), usb.devices.end(),
                   [&](const probes::UsbDevice& device) { return device.path == path; });
  return found == usb.devices.end() ? nullptr : &*found;
}

const probes::UsbController* FindController(const probes::UsbInventory& usb, int bus) {
  const auto found =
      std::find_if(usb.controllers.begin(), usb.controllers.end(),
                   [&](const probes::UsbController& one) { return OnBus(one, bus); });
  return found == usb.controllers.end() ? nullptr : &*found;
}

bool OneBus(const probes::UsbController& controller) {
  constexpr std::array kDrivers = {"ehci", "ohci", "uhci"};
  return controller.driver.known() &&
         std::any_of(kDrivers.begin(), kDrivers.end(), [&](const char* driver) {
           return controller.driver->find(driver) != std::string::npos;
         });
}

int LanesOf(const probes::UsbDevice& device) {
  return device.lanes.known() && *device.lanes == 2 ? 2 : 1;
}

// A controller carries at least what one of its ports may carry: each root port has the whole
// bandwidth of a bus (drivers/usb/host/xhci.h). What its own uplink carries beyond that is not
// known here. EHCI has one bus for all ports.
std::optional<double> ControllerBytesPerSecond(const probes::UsbInventory& usb,
                                               const probes::UsbController& controller,
                                               probes::TransferType transfer) {
  double fastest = 0;
  for (const probes::UsbDevice& device : usb.devices) {
    if (device.parent.empty() && OnBus(controller, device.bus)) {
      fastest = std::max(fastest, device.speed_mbps);
    }
  }
  return LinkBytesPerSecond(fastest, transfer);
}

std::optional<double> OwnLinkBytesPerSecond(const UsbStream& stream, double speed_mbps, int lanes) {
  const std::optional<double> link = StreamBytesPerSecond(speed_mbps, stream.shown.transfer, lanes);
  if (!link || stream.setting_bytes_per_second <= 0) {
    return link;
  }
  return std::min(*link, stream.setting_bytes_per_second);
}

std::string LinkLabel(const UsbLink& link) {
  if (link.device == nullptr) {
    return "USB controller " + base::Printable(link.Path(), 40);
  }
  if (link.RootHub()) {
    return "USB bus " + base::Printable(link.Path(), 40);
  }
  const bool hub = link.device->role == probes::UsbRole::kHub;
  return (hub ? "USB hub " : "USB device ") + DeviceLabel(*link.device);
}

}  // namespace report
