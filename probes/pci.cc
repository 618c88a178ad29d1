// SPDX-License-Identifier: Apache-2.0

#include "probes/pci.h"

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/device_place.h"
#include "probes/sysfs_driver.h"

namespace probes {
namespace {

constexpr std::string_view kDevices = "/sys/bus/pci/devices";

/// A number written 0x1b36; 0 when it cannot be read.
int ReadHex(const base::MachineRoot& root, const std::string& path) {
  const auto text = root.ReadTrimmed(path);
  return text ? static_cast<int>(base::ParseInt(*text, 16).value_or(0)) : 0;
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
  device.class_code = ReadHex(root, folder + "/class");
  device.vendor_id = ReadHex(root, folder + "/vendor");
  device.device_id = ReadHex(root, folder + "/device");
  device.name = PciName(names, device.vendor_id, device.device_id);
  device.driver = ReadDriver(root, folder);
  device.link.speed_gts = ReadLink(root, folder + "/current_link_speed", ParseLinkSpeed);
  device.link.width = ReadLink(root, folder + "/current_link_width", ParseLinkWidth);
  device.link.best_speed_gts = ReadLink(root, folder + "/max_link_speed", ParseLinkSpeed);
  device.link.best_width = ReadLink(root, folder + "/max_link_width", ParseLinkWidth);
  device.parent = ParentFunction(root.Resolve(folder).value_or(""));
  const auto control = root.ReadTrimmed(folder + "/power/control");
  device.power_control =
      control ? base::Reading<std::string>(base::Printable(*control, 20))
              : base::Reading<std::string>(base::Result<std::string>(control.error()));
  device.link_sleep = ReadLinkSleep(root, folder);
  return device;
}

// PCI Code and ID Assignment Specification 1.11, base classes and subclasses.
bool SharesLinksWithCapture(int class_code) {
  constexpr int kBridge = 0x06;
  constexpr int kPciBridge = 0x0604;
  constexpr int kUsb = 0x0c03;
  const int base_class = class_code >> 16;
  const int subclass = class_code >> 8;
  return (base_class >= 0x01 && base_class <= 0x04) || subclass == kUsb ||
         (base_class == kBridge && subclass == kPciBridge);
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
  for (const std::string& address : *addresses) {
    devices.push_back(ReadDevice(root, address, names));
  }
  return devices;
}

PciInventory ReadPciInventory(const base::MachineRoot& root) {
  PciInventory pci;
  auto devices = ReadPci(root);
  if (!devices) {
    const bool none =
        devices.error().kind == base::ErrorKind::kNotPresent && root.List("/sys/bus").has_value();
    pci.present = none ? base::Reading<bool>(false)
                       : base::Reading<bool>(base::Result<bool>(devices.error()));
    return pci;
  }
  pci.present = !devices->empty();
  for (PciDevice& device : *devices) {
    if (SharesLinksWithCapture(device.class_code)) {
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
