#include "probes/pci.h"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
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
  return device;
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
