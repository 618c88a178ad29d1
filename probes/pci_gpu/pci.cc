// SPDX-License-Identifier: Apache-2.0

#include "probes/pci_gpu/pci.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/sysfs/device_place.h"
#include "probes/sysfs/sysfs_driver.h"

namespace probes {
namespace {

constexpr std::string_view kDevices = "/sys/bus/pci/devices";

constexpr std::int64_t kMostId = 0xffff;
constexpr std::int64_t kMostClass = 0xffffff;

/// A number written 0x1b36; nothing when it cannot be read, or is none of its kind.
std::optional<int> ReadHex(const base::MachineRoot& root, const std::string& path,
                           std::int64_t most) {
  const auto text = root.ReadTrimmed(path);
  const auto value = text ? base::ParseInt(*text, 16) : std::nullopt;
  return value && *value >= 0 && *value <= most ? std::optional(static_cast<int>(*value))
                                                : std::nullopt;
}

/// Video nodes of the class by the PCI function that they are of; not those of USB devices
/// behind a controller.
base::Reading<std::multimap<std::string, std::string>> ReadVideoNodes(
    const base::MachineRoot& root) {
  static const std::string folder = "/sys/class/video4linux";
  const auto names = root.List(folder);
  std::multimap<std::string, std::string> nodes;
  if (!names) {
    // The class is there from the moment that a video driver is loaded: no nodes without it.
    return names.error().kind == base::ErrorKind::kNotPresent && root.List("/sys/class")
               ? base::Reading<std::multimap<std::string, std::string>>(nodes)
               : base::Result<std::multimap<std::string, std::string>>(names.error());
  }
  for (const std::string& name : *names) {
    const auto resolved = root.Resolve(folder + "/" + name);
    const DevicePlace place = resolved ? PlaceOf(*resolved) : DevicePlace();
    if (name.starts_with("video") && place.usb_path.empty() && !place.pci_address.empty()) {
      nodes.emplace(place.pci_address, base::Printable(name, 40));
    }
  }
  return nodes;
}

base::Reading<std::vector<std::string>> NodesOf(
    const base::Reading<std::multimap<std::string, std::string>>& nodes,
    const std::string& address) {
  if (!nodes) {
    return base::Reading<std::vector<std::string>>::Unknown(nodes.why_unknown());
  }
  std::vector<std::string> found;
  const auto [first, last] = nodes->equal_range(address);
  for (auto node = first; node != last; ++node) {
    found.push_back(node->second);
  }
  return found;
}

template <typename T>
base::Reading<T> ReadLink(const base::MachineRoot& root, const std::string& path,
                          base::Reading<T> (*parse)(std::string_view)) {
  const auto text = root.ReadTrimmed(path);
  if (!text) {
    return base::Reading<T>(base::Result<T>(text.error()));
  }
  return parse(*text);
}

/// The kernel writes 0 lanes for PCIe functions without a link of their own; conventional ones
/// have no such file, and neither have trees that do not hold it.
base::Reading<bool> ReadNoLink(const base::MachineRoot& root, const std::string& folder) {
  const auto width = root.ReadTrimmed(folder + "/max_link_width");
  if (!width) {
    return base::Reading<bool>(base::Result<bool>(width.error()));
  }
  return !ParseLinkWidth(*width).known();
}

struct SleepFile {
  const char* file;
  const char* state;
};

// https://www.kernel.org/doc/Documentation/ABI/testing/sysfs-bus-pci, /link/.
constexpr std::array kSleepFiles{
    SleepFile{"l0s_aspm", "L0s"},         SleepFile{"l1_aspm", "L1"},
    SleepFile{"l1_1_aspm", "L1.1"},       SleepFile{"l1_2_aspm", "L1.2"},
    SleepFile{"l1_1_pcipm", "L1.1 (PM)"}, SleepFile{"l1_2_pcipm", "L1.2 (PM)"},
};

base::Reading<std::string> ReadLinkSleep(const base::MachineRoot& root, const std::string& folder) {
  std::string states;
  bool told = false;
  for (const SleepFile& sleep : kSleepFiles) {
    const auto on = root.ReadInt(fmt::format("{}/link/{}", folder, sleep.file));
    told = told || on.has_value();
    if (on && *on != 0) {
      states += (states.empty() ? "" : ", ") + std::string(sleep.state);
    }
  }
  if (!told) {
    return base::Reading<std::string>::Unknown("the kernel shows no sleep states of this link");
  }
  return states;
}

PciDevice ReadDevice(const base::MachineRoot& root, const std::string& address, IdDatabase& names) {
  const std::string folder = fmt::format("{}/{}", kDevices, address);
  PciDevice device;
  device.address = base::Printable(address, 40);
  device.class_code = ReadHex(root, folder + "/class", kMostClass).value_or(0);
  const auto vendor = ReadHex(root, folder + "/vendor", kMostId);
  const auto number = ReadHex(root, folder + "/device", kMostId);
  device.vendor_id = vendor.value_or(0);
  device.device_id = number.value_or(0);
  device.name = vendor && number ? PciName(names, *vendor, *number)
                                 : std::string("unknown: its numbers cannot be read");
  device.driver = ReadDriver(root, folder);
  device.link.speed_gts = ReadLink(root, folder + "/current_link_speed", ParseLinkSpeed);
  device.link.width = ReadLink(root, folder + "/current_link_width", ParseLinkWidth);
  device.link.best_speed_gts = ReadLink(root, folder + "/max_link_speed", ParseLinkSpeed);
  device.link.best_width = ReadLink(root, folder + "/max_link_width", ParseLinkWidth);
  device.link.none = ReadNoLink(root, folder);
  device.parent = ParentFunction(root.Resolve(folder).value_or(""));
  const auto control = root.ReadTrimmed(folder + "/power/control");
  device.power_control =
      control ? base::Reading<std::string>(base::Printable(*control, 20))
              : base::Reading<std::string>(base::Result<std::string>(control.error()));
  device.link_sleep = ReadLinkSleep(root, folder);
  return device;
}

// PCI Code and ID Assignment Specification 1.11, base classes and subclasses.
bool SharesLinksWithCapture(const PciDevice& device) {
  const int class_code = device.class_code;
  constexpr int kBridge = 0x06;
  constexpr int kPciBridge = 0x0604;
  constexpr int kUsb = 0x0c03;
  const int base_class = class_code >> 16;
  const int subclass = class_code >> 8;
  return (base_class >= 0x01 && base_class <= 0x04) || subclass == kUsb ||
         (base_class == kBridge && subclass == kPciBridge) || TellsNoPurpose(class_code) ||
         !device.video_nodes.value_or({}).empty();
}

}  // namespace

base::Result<std::vector<PciDevice>> ReadPci(const base::MachineRoot& root) {
  auto addresses = root.List(kDevices);
  if (!addresses) {
    return addresses.error();
  }
  std::ranges::sort(*addresses);  // hexadecimal of equal width: "04.0" before "1c.0"
  IdDatabase names = IdDatabase::Pci();
  std::vector<PciDevice> devices;
  devices.reserve(addresses->size());
  const auto nodes = ReadVideoNodes(root);
  for (const std::string& address : *addresses) {
    devices.push_back(ReadDevice(root, address, names));
    devices.back().video_nodes = NodesOf(nodes, address);
  }
  return devices;
}

PciInventory ReadPciInventory(const base::MachineRoot& root) {
  PciInventory pci;
  auto devices = ReadPci(root);
  if (!devices) {
    pci.present = base::Reading<bool>(base::Result<bool>(devices.error()));
    return pci;
  }
  pci.present = !devices->empty();
  for (PciDevice& device : *devices) {
    if (SharesLinksWithCapture(device)) {
      pci.functions.push_back(std::move(device));
    }
  }
  return pci;
}

std::string ParentFunction(std::string_view sysfs_path) {
  std::string_view parent;
  std::string_view self;
  for (const std::string_view part : base::Split(sysfs_path, '/')) {
    if (part.starts_with("pci") && part.find(':') != std::string_view::npos) {
      parent = self = {};  // a root complex; of a volume device another one lies inside
    } else if (IsPciAddress(part)) {
      parent = self;
      self = part;
    }
  }
  return std::string(parent);
}

std::string PciName(IdDatabase& names, int vendor_id, int device_id) {
  const IdNames found = names.Find(vendor_id, device_id);
  if (!found.device.empty()) {
    return found.vendor + " " + found.device;
  }
  const std::string numbers = fmt::format("{:04x}:{:04x}", vendor_id, device_id);
  return found.vendor.empty() ? numbers : found.vendor + " " + numbers;
}

base::Reading<double> ParseLinkSpeed(std::string_view text) {
  const auto words = base::SplitWords(text);
  const auto speed = words.size() >= 2 && words[1] == "GT/s" ? base::ParseDouble(words[0])
                                                             : std::optional<double>();
  if (!speed || !(*speed > 0) || *speed > 1000) {
    return base::Reading<double>::Unknown("the kernel says '" + base::Printable(text, 40) + "'");
  }
  return *speed;
}

base::Reading<int> ParseLinkWidth(std::string_view text) {
  const auto width = base::ParseInt(base::Trim(text));
  if (!width || *width <= 0 || *width > 32) {
    return base::Reading<int>::Unknown("the kernel says '" + base::Printable(text, 40) + "'");
  }
  return static_cast<int>(*width);
}

}  // namespace probes
