// SPDX-License-Identifier: Apache-2.0
//
// Ports.

#include "tests/support/port_builder.h"

#include <stdexcept>

namespace report::testing {

void GivePorts(Evidence& evidence) {
  for (probes::UsbDevice& hub : evidence.inventory.usb.devices) {
    if (hub.role != probes::UsbRole::kHub) {
      continue;
    }
    hub.port_list.clear();
    for (int number = 1; number <= hub.ports; ++number) {
      probes::UsbPort port;
      port.number = number;
      port.connect_type = std::string("hotplug");
      if (hub.parent.empty()) {
        const int other = hub.bus % 2 == 1 ? hub.bus + 1 : hub.bus - 1;
        port.peer = "usb" + std::to_string(other) + ":" + std::to_string(number);
      }
      hub.port_list.push_back(port);
    }
  }
}

probes::UsbPort& PortAt(Evidence& evidence, const std::string& hub, int number) {
  for (probes::UsbDevice& device : evidence.inventory.usb.devices) {
    for (probes::UsbPort& port : device.port_list) {
      if (device.path == hub && port.number == number) {
        return port;
      }
    }
  }
  throw std::runtime_error("no port " + std::to_string(number) + " of " + hub);
}

}  // namespace report::testing
