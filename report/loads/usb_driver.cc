// SPDX-License-Identifier: Apache-2.0
//
// Drivers of video interfaces.

#include "report/loads/usb_driver.h"

#include <algorithm>

#include "base/text.h"

namespace report {
namespace {

constexpr int kVideoClass = 0x0e;

/// Drivers of its video interfaces as one reading: unknown where one of them is, else a name where
/// some has one.
base::Reading<std::string> VideoDriver(const probes::UsbDevice& device) {
  base::Reading<std::string> driver;
  for (const probes::UsbInterface& interface : device.interfaces) {
    if (interface.interface_class != kVideoClass) {
      continue;
    }
    if (!interface.driver.known()) {
      return interface.driver;
    }
    if (!driver.known() || driver->empty()) {
      driver = interface.driver;
    }
  }
  return driver;
}

}  // namespace

std::string WhyNoPictures(const probes::UsbInventory& usb, const probes::UsbDevice& device) {
  const base::Reading<std::string> driver = VideoDriver(device);
  if (device.role != probes::UsbRole::kCapture || !device.video_nodes.empty() || !driver.known()) {
    return {};
  }
  if (driver->empty()) {
    return "no driver has taken its video interface";
  }
  return usb.nodes_read.value_or(false)
             ? "its driver " + base::Printable(*driver, 40) + " has made no video node of it"
             : std::string();
}

std::string VideoDriverElsewhere(const probes::UsbInventory& usb, const probes::UsbDevice& device) {
  for (const probes::UsbDevice& other : usb.devices) {
    const base::Reading<std::string> driver = VideoDriver(other);
    if (&other != &device && driver.known() && !driver->empty() && !other.video_nodes.empty()) {
      return *driver;
    }
  }
  return {};
}

}  // namespace report
