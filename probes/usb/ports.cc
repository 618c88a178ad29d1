// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/ports.h"

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/sysfs/sysfs_driver.h"

namespace probes {
namespace {

using base::MachineRoot;
using base::Reading;

constexpr std::string_view kPort = "-port";

Reading<std::string> ReadShort(const MachineRoot& root, const std::string& path) {
  const auto text = root.ReadTrimmed(path);
  return text ? Reading<std::string>(base::Printable(*text, 20)) : Reading<std::string>(text);
}

UsbPort ReadPort(const MachineRoot& root, const std::string& folder, int number) {
  UsbPort port;
  port.number = number;
  port.connect_type = ReadShort(root, folder + "/connect_type");
  if (const auto peer = root.Resolve(folder + "/peer")) {
    port.peer = ParsePortName(LastPart(*peer));
  }
  port.over_current_count = root.ReadInt(folder + "/over_current_count");
  port.panel = ReadShort(root, folder + "/physical_location/panel");
  return port;
}

}  // namespace

std::vector<std::string> InterfaceFolders(const MachineRoot& root, const std::string& folder) {
  std::vector<std::string> found = root.List(folder).value_or({});
  std::erase_if(found, [](const std::string& entry) {
    const std::size_t colon = entry.find(':');
    return colon == std::string::npos || entry.find('-') > colon ||
           entry.find('.', colon) == std::string::npos;
  });
  return found;
}

std::vector<UsbPort> ReadUsbPorts(const MachineRoot& root, const std::string& folder,
                                  const std::string& path, int ports) {
  std::vector<UsbPort> found;
  for (const std::string& entry : InterfaceFolders(root, folder)) {
    const std::string interface_folder = fmt::format("{}/{}", folder, entry);
    const auto names = root.List(interface_folder).value_or({});
    for (int number = 1; number <= ports; ++number) {
      const std::string name = fmt::format("{}{}{}", path, kPort, number);
      if (std::ranges::find(names, name) != names.end()) {
        found.push_back(ReadPort(root, fmt::format("{}/{}", interface_folder, name), number));
      }
    }
  }
  return found;
}

std::vector<UsbPeer> PeersOf(const UsbDevice& hub) {
  std::vector<UsbPeer> peers;
  for (const UsbPort& port : hub.port_list) {
    if (!port.peer.empty()) {
      peers.push_back({hub.path, port.peer.substr(0, port.peer.find(':'))});
    }
  }
  return peers;
}

std::string ParsePortName(std::string_view name) {
  const std::size_t end = name.rfind(kPort);
  if (end == std::string_view::npos || !ParseUsbPath(name.substr(0, end))) {
    return {};
  }
  const auto number = base::ParseInt(name.substr(end + kPort.size()));
  return number && *number > 0 && *number <= 255
             ? fmt::format("{}:{}", name.substr(0, end), *number)
             : std::string();
}

}  // namespace probes
