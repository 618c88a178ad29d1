// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/system/machine_root.h"
#include "base/text.h"
#include "probes/data/usb.h"
#include "probes/pci_gpu/pci.h"
#include "probes/sysfs/id_names.h"
#include "probes/sysfs/sysfs_driver.h"
#include "probes/usb/bos.h"
#include "probes/usb/descriptors.h"
#include "probes/usb/ports.h"
#include "probes/usb/tree.h"

namespace probes {
namespace {

using base::MachineRoot;

// One USB device: its files in sysfs and its binary descriptors put together.

/// A device node of some class (/sys/class/net, video4linux) and where it lies.
struct ClassNode {
  std::string name;    // "video0"
  std::string folder;  // "/sys/devices/.../video4linux/video0"
};

struct UsbReadContext {
  const base::MachineRoot& root;
  IdDatabase names = IdDatabase::Usb();
  std::vector<ClassNode> video;
  std::vector<ClassNode> network;
};

using base::MachineRoot;
using base::Reading;

constexpr int kSelfPowered = 0x40;

std::span<const std::uint8_t> AsBytes(const std::string& text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

std::string Why(const base::Error& error) {
  return error.where.empty() ? error.detail : error.where + ": " + error.detail;
}

std::optional<int> ReadHex(const MachineRoot& root, const std::string& path) {
  const auto text = root.ReadTrimmed(path);
  const auto value = text ? base::ParseInt(*text, 16) : std::nullopt;
  if (!value || *value < 0 || *value > 0xffff) {
    return std::nullopt;
  }
  return static_cast<int>(*value);
}

Reading<std::string> ReadWord(const MachineRoot& root, const std::string& path) {
  const auto text = root.ReadTrimmed(path);
  if (!text) {
    return Reading<std::string>(text);
  }
  return base::Printable(*text, 40);
}

/// "500mA" as 500.
Reading<int> ReadMilliamps(const MachineRoot& root, const std::string& path) {
  const auto text = root.ReadTrimmed(path);
  if (!text) {
    return Reading<int>(base::Result<int>(text.error()));
  }
  const bool unit = text->ends_with("mA");
  const auto value =
      unit ? base::ParseInt(std::string_view(*text).substr(0, text->size() - 2)) : std::nullopt;
  if (!value || *value < 0 || *value > 100000) {
    return Reading<int>::Unknown(path + ": found '" + base::Printable(*text, 40) + "'");
  }
  return static_cast<int>(*value);
}

Reading<bool> ReadSelfPowered(const MachineRoot& root, const std::string& folder) {
  const auto attributes = ReadHex(root, folder + "/bmAttributes");
  if (!attributes) {
    return Reading<bool>::Unknown(folder + "/bmAttributes: not readable (no configuration?)");
  }
  return (*attributes & kSelfPowered) != 0;
}

/// The configuration that the kernel chose, else the first.
const UsbConfiguration* ActiveConfiguration(const MachineRoot& root, const std::string& folder,
                                            const UsbDescriptors& descriptors) {
  if (descriptors.configurations.empty()) {
    return nullptr;
  }
  const auto value = root.ReadInt(folder + "/bConfigurationValue");
  if (value) {
    for (const UsbConfiguration& configuration : descriptors.configurations) {
      if (configuration.value == *value) {
        return &configuration;
      }
    }
  }
  return &descriptors.configurations.front();
}

/// An interface that the descriptors do not hold (unreadable, cut off), from its files.
UsbInterface InterfaceFromFiles(const MachineRoot& root, const std::string& folder, int number) {
  UsbInterface interface;
  interface.number = number;
  interface.alternate = static_cast<int>(
      std::clamp<std::int64_t>(root.ReadInt(folder + "/bAlternateSetting").value_or(0), 0, 255));
  interface.interface_class = ReadHex(root, folder + "/bInterfaceClass").value_or(0);
  interface.subclass = ReadHex(root, folder + "/bInterfaceSubClass").value_or(0);
  interface.protocol = ReadHex(root, folder + "/bInterfaceProtocol").value_or(0);
  return interface;
}

/// Drivers for the interfaces, and those interfaces that only sysfs knows.
void AddFromInterfaceFolders(const MachineRoot& root, const std::string& folder,
                             UsbDevice& device) {
  for (UsbInterface& interface : device.interfaces) {
    interface.driver = Reading<std::string>::Unknown("the kernel made no such interface");
  }
  for (const std::string& entry : InterfaceFolders(root, folder)) {
    const auto number = base::ParseInt(std::string_view(entry).substr(entry.rfind('.') + 1));
    if (!number || *number < 0 || *number > 255) {
      continue;
    }
    const std::string interface_folder = fmt::format("{}/{}", folder, entry);
    const auto driver = ReadDriver(root, interface_folder);
    bool known = false;
    for (UsbInterface& interface : device.interfaces) {
      if (interface.number == *number) {
        interface.driver = driver;
        known = true;
      }
    }
    if (!known) {
      device.interfaces.push_back(
          InterfaceFromFiles(root, interface_folder, static_cast<int>(*number)));
      device.interfaces.back().driver = driver;
    }
  }
}

void ReadNames(UsbReadContext& context, const std::string& folder, UsbDevice& device) {
  const auto own = [&](const char* file) {
    const auto text = context.root.ReadTrimmed(folder + "/" + file);
    return text ? base::Printable(*text) : std::string();
  };
  device.vendor = own("manufacturer");
  device.product = own("product");
  if (device.vendor.empty() || device.product.empty()) {
    const IdNames names = context.names.Find(device.vendor_id, device.product_id);
    device.vendor = device.vendor.empty() ? names.vendor : device.vendor;
    device.product = device.product.empty() ? names.device : device.product;
  }
  if (device.product.empty() && device.vendor_id == 0 && device.product_id == 0) {
    device.product = "unknown: its numbers cannot be read";
  } else if (device.product.empty()) {
    device.product = fmt::format("{:04x}:{:04x}", device.vendor_id, device.product_id);
  }
}

/// Lanes in use; the kernel knows no more than two.
Reading<int> ReadLanes(const MachineRoot& root, const std::string& path) {
  const auto lanes = root.ReadInt(path);
  if (!lanes) {
    return Reading<int>(base::Result<int>(lanes.error()));
  }
  if (*lanes < 1 || *lanes > 2) {
    return Reading<int>::Unknown(fmt::format("{}: found {}, allowed are 1 and 2", path, *lanes));
  }
  return static_cast<int>(*lanes);
}

/// Descriptors, and what they alone can tell. Returns the device's class.
int ReadDescriptors(const MachineRoot& root, const std::string& folder, UsbDevice& device) {
  int device_class = ReadHex(root, folder + "/bDeviceClass").value_or(0);
  const auto blob = root.Read(folder + "/descriptors");
  if (!blob) {
    device.descriptor_fault = Why(blob.error());
    device.best_speed_mbps = Reading<double>::Unknown(device.descriptor_fault);
    return device_class;
  }
  const auto super_speed =
      device.speed_mbps > 0 ? std::optional(device.speed_mbps >= 5000) : std::nullopt;
  const UsbDescriptors descriptors = ParseUsbDescriptors(AsBytes(*blob), super_speed);
  device.descriptor_fault = descriptors.fault;
  device.companions = descriptors.companions;
  if (descriptors.device) {
    device_class = descriptors.device->device_class;
    device.vendor_id = device.vendor_id == 0 ? descriptors.device->vendor_id : device.vendor_id;
    device.product_id = device.product_id == 0 ? descriptors.device->product_id : device.product_id;
    device.protocol = descriptors.device->protocol;
    std::optional<UsbBos> bos;
    if (const auto bos_blob = root.Read(folder + "/bos_descriptors")) {
      bos = ParseBos(AsBytes(*bos_blob));
      device.capabilities = bos->capabilities;
      if (device.descriptor_fault.empty()) {
        device.descriptor_fault = bos->fault;
      }
    }
    device.best_speed_mbps = BestUsbSpeed(device.speed_mbps, descriptors.device->bcd_usb, bos);
  } else {
    device.best_speed_mbps = Reading<double>::Unknown(descriptors.fault);
  }
  if (const auto* active = ActiveConfiguration(root, folder, descriptors)) {
    device.interfaces = active->interfaces;
    device.modes = active->modes;
    device.video_functions = active->video_functions;
  }
  return device_class;
}

/// Nodes that lie below the device itself, not below a device behind it.
std::vector<std::string> NodesOf(const std::vector<ClassNode>& nodes, const std::string& folder) {
  std::vector<std::string> found;
  for (const ClassNode& node : nodes) {
    if (!node.folder.starts_with(folder + "/")) {
      continue;
    }
    const std::string_view below = std::string_view(node.folder).substr(folder.size() + 1);
    const std::string_view next = below.substr(0, below.find('/'));
    if (next.find(':') != std::string_view::npos) {
      found.push_back(node.name);
    }
  }
  return found;
}

/// The device that the kernel calls `name` and keeps in `folder` (links resolved).
UsbDevice ReadUsbDevice(UsbReadContext& context, const std::string& name, const UsbPath& path,
                        const std::string& folder) {
  const MachineRoot& root = context.root;
  UsbDevice device;
  device.path = name;
  device.parent = path.Parent();
  device.bus = path.bus;
  device.port = path.ports.empty() ? 0 : path.ports.back();
  device.vendor_id = ReadHex(root, folder + "/idVendor").value_or(0);
  device.product_id = ReadHex(root, folder + "/idProduct").value_or(0);
  device.usb_version = ReadWord(root, folder + "/version").value_or("");
  device.speed_mbps = ParseUsbSpeed(root.ReadTrimmed(folder + "/speed").value_or(""));
  device.lanes = ReadLanes(root, folder + "/rx_lanes");
  device.protocol = ReadHex(root, folder + "/bDeviceProtocol").value_or(0);
  device.max_power_ma = ReadMilliamps(root, folder + "/bMaxPower");
  device.self_powered = ReadSelfPowered(root, folder);
  device.power_control = ReadWord(root, folder + "/power/control");
  device.removable = ReadWord(root, folder + "/removable");
  device.ports = static_cast<int>(
      std::clamp<std::int64_t>(root.ReadInt(folder + "/maxchild").value_or(0), 0, 255));
  const int device_class = ReadDescriptors(root, folder, device);
  AddFromInterfaceFolders(root, folder, device);
  ReadNames(context, folder, device);
  device.video_nodes = NodesOf(context.video, folder);
  device.role = RoleOf(device_class, device, !NodesOf(context.network, folder).empty());
  if (device.ports > 0) {
    device.port_list = ReadUsbPorts(root, folder, name, device.ports);
  }
  if (path.ports.empty()) {
    device.role = UsbRole::kHub;
    device.best_speed_mbps = device.speed_mbps > 0
                                 ? Reading<double>(device.speed_mbps)
                                 : Reading<double>::Unknown("the link's speed is not known");
  }
  return device;
}
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
