// SPDX-License-Identifier: Apache-2.0

#include "probes/sysfs/device_place.h"

#include <algorithm>
#include <cctype>

#include "base/text.h"

namespace probes {
namespace {

bool AllDigits(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(),
                                      [](unsigned char c) { return std::isdigit(c) != 0; });
}

bool AllHex(std::string_view text, std::size_t size) {
  return text.size() == size && std::all_of(text.begin(), text.end(),
                                            [](unsigned char c) { return std::isxdigit(c) != 0; });
}

}  // namespace

bool IsPciAddress(std::string_view name) {
  const auto parts = base::Split(name, ':');
  if (parts.size() != 3 || parts[0].size() < 4 || parts[0].size() > 8 ||
      !AllHex(parts[0], parts[0].size()) || !AllHex(parts[1], 2) || parts[2].size() != 4) {
    return false;
  }
  return AllHex(parts[2].substr(0, 2), 2) && parts[2][2] == '.' && parts[2][3] >= '0' &&
         parts[2][3] <= '7';
}

bool IsUsbDevicePath(std::string_view name) {
  const auto dash = name.find('-');
  if (dash == std::string_view::npos || !AllDigits(name.substr(0, dash))) {
    return false;
  }
  const auto ports = base::Split(name.substr(dash + 1), '.');
  return std::all_of(ports.begin(), ports.end(), AllDigits);
}

DevicePlace PlaceOf(std::string_view sysfs_path) {
  DevicePlace place;
  bool below_usb = false;
  for (const std::string_view part : base::Split(sysfs_path, '/')) {
    if (IsPciAddress(part)) {
      place.pci_address = part;
    } else if (part.starts_with("usb") && AllDigits(part.substr(3))) {
      below_usb = true;
    } else if (below_usb && IsUsbDevicePath(part)) {
      place.usb_path = part;
    }
  }
  return place;
}

}  // namespace probes
