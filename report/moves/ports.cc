// SPDX-License-Identifier: Apache-2.0
//
// Ports to sockets.

#include "report/moves/ports.h"

#include <map>
#include <utility>

#include "base/text.h"
#include "report/loads/usb_load.h"

namespace report {
namespace {

using PortKey = std::pair<std::string, int>;  // hub path, port number

// "usb3:2" as written by the probe; an empty path when it is anything else.
PortKey PeerOf(const probes::UsbPort& port) {
  const std::size_t colon = port.peer.rfind(':');
  if (colon == std::string::npos) {
    return {};
  }
  const auto number = base::ParseInt(port.peer.substr(colon + 1));
  constexpr std::int64_t kMostPorts = 255;
  if (!number || *number < 1 || *number > kMostPorts) {
    return {};
  }
  return {port.peer.substr(0, colon), static_cast<int>(*number)};
}

bool Offered(const probes::UsbPort& port) {
  return !port.connect_type.known() ||
         (*port.connect_type != "hardwired" && *port.connect_type != "not used");
}

class Sockets {
 public:
  explicit Sockets(const probes::UsbInventory& usb) : usb_(usb) {}

  std::vector<Socket> Find() {
    for (const probes::UsbDevice& hub : usb_.devices) {
      for (const probes::UsbPort& port : hub.port_list) {
        AddPort(hub, port);
      }
    }
    for (const probes::UsbDevice& device : usb_.devices) {
      PutIn(device);
    }
    return std::move(sockets_);
  }

 private:
  void AddPort(const probes::UsbDevice& hub, const probes::UsbPort& port) {
    const PortKey key{hub.path, port.number};
    if (index_.count(key) > 0) {
      return;  // listed twice
    }
    std::size_t at = sockets_.size();
    const PortKey peer = PeerOf(port);
    const auto joined = index_.find(peer);
    const bool fast = hub.speed_mbps >= 5000;
    if (joined != index_.end() && !Half(sockets_[joined->second], fast).there()) {
      at = joined->second;
    } else {
      sockets_.emplace_back();
    }
    index_[key] = at;
    Socket& socket = sockets_[at];
    Half(socket, fast) = {&hub, port.number};
    socket.offered = socket.offered && Offered(port);
    if (socket.panel.empty() && port.panel.known()) {
      socket.panel = *port.panel;
    }
  }

  static PortHalf& Half(Socket& socket, bool fast) { return fast ? socket.usb3 : socket.usb2; }

  void PutIn(const probes::UsbDevice& device) {
    if (device.parent.empty()) {
      return;
    }
    const auto known = index_.find({device.parent, device.port});
    if (known != index_.end()) {
      sockets_[known->second].devices.push_back(&device);
      return;
    }
    const probes::UsbDevice* hub = FindDevice(usb_, device.parent);
    if (hub == nullptr) {
      return;
    }
    Socket socket;
    socket.offered = false;
    Half(socket, hub->speed_mbps >= 5000) = {hub, device.port};
    socket.devices.push_back(&device);
    index_[{device.parent, device.port}] = sockets_.size();
    sockets_.push_back(std::move(socket));
  }

  const probes::UsbInventory& usb_;
  std::map<PortKey, std::size_t> index_;
  std::vector<Socket> sockets_;
};

}  // namespace

std::vector<Socket> FindSockets(const probes::UsbInventory& usb) {
  return Sockets(usb).Find();
}

}  // namespace report
