// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/system/machine_root.h"
#include "base/text.h"
#include "probes/pci_gpu/pci.h"
#include "probes/sysfs/sysfs_driver.h"
#include "probes/usb/device_read.h"
#include "probes/usb/ports.h"
#include "probes/usb/tree.h"

namespace probes {
namespace {

using base::MachineRoot;
using base::Reading;

const std::string kUsbDevices = "/sys/bus/usb/devices";
const std::string kPciDevices = "/sys/bus/pci/devices";

struct FoundDevice {
  UsbPath path;
  std::string name;
  std::string folder;
};

/// Device names of /sys/bus/usb/devices in the order of the tree.
std::vector<FoundDevice> FindDevices(const MachineRoot& root,
                                     const std::vector<std::string>& names) {
  std::vector<FoundDevice> found;
  for (const std::string& name : names) {
    if (auto path = ParseUsbPath(name)) {
      const std::string link = fmt::format("{}/{}", kUsbDevices, name);
      found.push_back({std::move(*path), name, root.Resolve(link).value_or(link)});
    }
  }
  std::ranges::sort(found, {}, &FoundDevice::path);
  return found;
}

std::vector<ClassNode> FindNodes(const MachineRoot& root, const std::string& folder,
                                 const std::string& prefix) {
  std::vector<ClassNode> nodes;
  for (const std::string& name : root.List(folder).value_or({})) {
    const auto resolved = root.Resolve(fmt::format("{}/{}", folder, name));
    if (name.starts_with(prefix) && resolved) {
      nodes.push_back({base::Printable(name, 40), *resolved});
    }
  }
  return nodes;
}

int ReadHexOrZero(const MachineRoot& root, const std::string& path) {
  const auto text = root.ReadTrimmed(path);
  return text ? static_cast<int>(base::ParseInt(*text, 16).value_or(0)) : 0;
}

UsbController DescribeController(const MachineRoot& root, const std::string& folder,
                                 IdDatabase& names) {
  UsbController controller;
  controller.address = base::Printable(LastPart(folder), 64);
  controller.driver = ReadDriver(root, folder);
  const int vendor = ReadHexOrZero(root, folder + "/vendor");
  if (vendor != 0) {
    controller.name = PciName(names, vendor, ReadHexOrZero(root, folder + "/device"));
  }
  return controller;
}

/// Root hubs lie in the folder of the controller that drives them.
void AddBus(const MachineRoot& root, const FoundDevice& hub, const std::string& product,
            IdDatabase& names, std::vector<UsbController>& controllers) {
  const std::string folder = hub.folder.substr(0, hub.folder.rfind('/'));
  if (folder == kUsbDevices) {
    controllers.push_back({hub.name,
                           product,
                           Reading<std::string>::Unknown(hub.folder + ": not a link to a device"),
                           {hub.path.bus}});
    return;
  }
  const std::string address = base::Printable(LastPart(folder), 64);
  auto known = std::ranges::find(controllers, address, &UsbController::address);
  if (known == controllers.end()) {
    controllers.push_back(DescribeController(root, folder, names));
    known = std::prev(controllers.end());
    known->name = known->name.empty() ? product : known->name;
  }
  known->buses.push_back(hub.path.bus);
}

/// Host controllers on PCI that drive no bus, for want of a driver.
void AddIdleControllers(const MachineRoot& root, IdDatabase& names,
                        std::vector<UsbController>& controllers) {
  for (const std::string& address : root.List(kPciDevices).value_or({})) {
    const std::string folder = fmt::format("{}/{}", kPciDevices, address);
    const int code = ReadHexOrZero(root, folder + "/class");
    const bool host = code == 0x0c0300 || code == 0x0c0310 || code == 0x0c0320 || code == 0x0c0330;
    if (host &&
        std::ranges::find(controllers, address, &UsbController::address) == controllers.end()) {
      controllers.push_back(DescribeController(root, folder, names));
    }
  }
}

}  // namespace

UsbInventory ReadUsb(const MachineRoot& root) {
  UsbInventory usb;
  IdDatabase pci_names = IdDatabase::Pci();
  const auto names = root.List(kUsbDevices);
  if (names) {
    usb.nodes_read = root.List("/sys/class/video4linux").has_value();
    UsbReadContext context{root, IdDatabase::Usb(),
                           FindNodes(root, "/sys/class/video4linux", "video"),
                           FindNodes(root, "/sys/class/net", "")};
    std::vector<UsbPeer> peers;
    for (const FoundDevice& found : FindDevices(root, *names)) {
      usb.devices.push_back(ReadUsbDevice(context, found.name, found.path, found.folder));
      const UsbDevice& device = usb.devices.back();
      if (found.path.ports.empty()) {
        AddBus(root, found, device.product, pci_names, usb.controllers);
      }
      if (device.role == UsbRole::kHub) {
        std::ranges::move(PeersOf(device), std::back_inserter(peers));
      }
    }
    JoinHubHalves(peers, usb.devices);
  }
  AddIdleControllers(root, pci_names, usb.controllers);
  const bool no_subsystem = !names && names.error().kind == base::ErrorKind::kNotPresent;
  if (names || (no_subsystem && !usb.controllers.empty())) {
    usb.present = !usb.controllers.empty() || !usb.devices.empty();
  } else if (no_subsystem && root.List(kPciDevices)) {
    usb.present = false;  // no USB runs in the kernel, and no controller waits for a driver
  } else {                // a controller on PCI says nothing of what is plugged in
    usb.present = Reading<bool>(base::Result<bool>(names.error()));
  }
  return usb;
}

}  // namespace probes
