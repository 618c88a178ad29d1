// SPDX-License-Identifier: Apache-2.0

#include "probes/network/network.h"

#include <algorithm>
#include <string>
#include <utility>

#include "base/text.h"
#include "probes/network/routes.h"
#include "probes/sysfs/device_place.h"

namespace probes {
namespace {

using base::MachineRoot;
using base::Reading;

constexpr std::int64_t kArpHardwareLoopback = 772;  // ARPHRD_LOOPBACK of if_arp.h
constexpr std::int64_t kFlagLoopback = 0x8;

Reading<bool> ReadUp(const MachineRoot& root, const std::string& folder) {
  const auto state = root.ReadTrimmed(folder + "/operstate");
  if (!state) {
    return Reading<bool>(base::Result<bool>(state.error()));
  }
  if (*state == "up") {
    return true;
  }
  if (*state == "unknown") {
    // Drivers without link states (loopback, tunnels) leave only the carrier.
    const auto carrier = root.ReadInt(folder + "/carrier");
    return carrier ? Reading<bool>(*carrier == 1)
                   : Reading<bool>(base::Result<bool>(carrier.error()));
  }
  return false;
}

/// By its kind of hardware, else by its flags (IFF_LOOPBACK of if.h).
bool IsLoopback(const MachineRoot& root, const std::string& folder) {
  if (const auto type = root.ReadInt(folder + "/type")) {
    return *type == kArpHardwareLoopback;
  }
  const auto flags = root.ReadTrimmed(folder + "/flags");
  return flags && (base::ParseInt(*flags, 16).value_or(0) & kFlagLoopback) != 0;
}

Reading<int> ReadMtu(const MachineRoot& root, const std::string& folder) {
  const auto bytes = root.ReadInt(folder + "/mtu");
  if (!bytes) {
    return Reading<int>::Unknown("the kernel shows no mtu of this link");
  }
  if (*bytes <= 0 || *bytes > INT32_MAX) {
    return Reading<int>::Unknown("mtu: found " + std::to_string(*bytes));
  }
  return static_cast<int>(*bytes);
}

/// Virtual links answer EINVAL, links without a partner -1.
Reading<double> ReadSpeed(const MachineRoot& root, const std::string& folder) {
  const auto speed = root.ReadInt(folder + "/speed");
  if (!speed) {
    return Reading<double>::Unknown("the driver tells no speed for this link now");
  }
  if (*speed <= 0) {
    return Reading<double>::Unknown("no speed is negotiated");
  }
  return static_cast<double>(*speed);
}

Reading<std::string> ReadDuplex(const MachineRoot& root, const std::string& folder) {
  const auto duplex = root.ReadTrimmed(folder + "/duplex");
  if (!duplex || (*duplex != "full" && *duplex != "half")) {
    return Reading<std::string>::Unknown("no duplex is negotiated");
  }
  return *duplex;
}

Reading<std::string> ReadLinkDriver(const MachineRoot& root, const std::string& folder) {
  const auto driver = root.Resolve(folder + "/device/driver");
  if (!driver) {
    return Reading<std::string>::Unknown(
        root.Exists(folder + "/device") ? "no driver is bound" : "a virtual link without a device");
  }
  return base::Printable(driver->substr(driver->find_last_of('/') + 1), 60);
}

/// Bridges, bonds and VLANs hold links "lower_eth0" to what they stand on.
std::vector<std::string> ReadLower(const MachineRoot& root, const std::string& folder) {
  static constexpr std::string_view kLower = "lower_";
  std::vector<std::string> lower;
  for (const std::string& entry : root.List(folder).value_or({})) {
    if (entry.starts_with(kLower)) {
      lower.push_back(base::Printable(entry.substr(kLower.size()), 60));
    }
  }
  return lower;
}

NetworkLink ReadLink(const MachineRoot& root, const std::string& name) {
  const std::string folder = "/sys/class/net/" + name;
  const auto count = [&](const char* file) {
    return Reading<std::int64_t>(root.ReadInt(folder + "/statistics/" + file));
  };
  NetworkLink link;
  link.name = base::Printable(name, 60);
  link.loopback = IsLoopback(root, folder);
  link.up = ReadUp(root, folder);
  link.wireless = root.Exists(folder + "/wireless") || root.Exists(folder + "/phy80211");
  link.speed_mbps = ReadSpeed(root, folder);
  link.duplex = ReadDuplex(root, folder);
  link.driver = ReadLinkDriver(root, folder);
  link.mtu_bytes = ReadMtu(root, folder);
  link.receive_errors = count("rx_errors");
  link.receive_drops = count("rx_dropped");
  link.transmit_errors = count("tx_errors");
  link.transmit_drops = count("tx_dropped");
  if (const auto device = root.Resolve(folder)) {
    DevicePlace place = PlaceOf(*device);
    link.usb_path = std::move(place.usb_path);
    link.pci_address = std::move(place.pci_address);
  }
  link.lower = ReadLower(root, folder);
  return link;
}

/// Whether the link leads to everywhere else.
bool LeadsEverywhere(const NetworkInventory& network, const std::string& link) {
  return network.routes &&
         std::any_of(network.routes->begin(), network.routes->end(), [&](const auto& route) {
           return route.prefix_bits == 0 && route.link == link;
         });
}

}  // namespace

NetworkInventory ReadNetwork(const MachineRoot& root) {
  NetworkInventory network;
  const auto names = root.List("/sys/class/net");
  if (!names) {
    network.why_unknown = names.error().where + ": " + names.error().detail;
    return network;
  }
  network.routes = ReadRoutes(root);
  for (const std::string& name : *names) {
    // bonding_masters and the like are files that stand beside the links' folders.
    if (root.List("/sys/class/net/" + name)) {
      network.links.push_back(ReadLink(root, name));
      network.links.back().default_route = LeadsEverywhere(network, network.links.back().name);
    }
  }
  return network;
}

}  // namespace probes
