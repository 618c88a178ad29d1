// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_modes.h"

#include <algorithm>
#include <iterator>
#include <utility>

namespace probes {
namespace {

using Modes = base::Reading<std::vector<CaptureMode>>;

/// The intervals that the descriptors list for the same picture.
std::vector<std::int64_t> ListedIntervals(const UsbDevice& device, const CaptureMode& mode) {
  const auto listed =
      std::find_if(device.modes.begin(), device.modes.end(), [&](const CaptureMode& one) {
        return one.pixel_format == mode.pixel_format && one.width == mode.width &&
               one.height == mode.height;
      });
  return listed == device.modes.end() ? std::vector<std::int64_t>{} : listed->intervals_100ns;
}

Modes ModesOf(const ModeAsker& ask, const UsbDevice& device) {
  std::vector<CaptureMode> offered;
  for (const std::string& node : device.video_nodes) {
    auto modes = ask(node);
    if (!modes) {
      return Modes::Unknown(node + ": " + modes.error().detail);
    }
    std::move(modes->begin(), modes->end(), std::back_inserter(offered));
  }
  for (CaptureMode& mode : offered) {
    if (mode.intervals_100ns.empty()) {
      mode.intervals_100ns = ListedIntervals(device, mode);
    }
    if (mode.intervals_100ns.empty()) {
      return Modes::Unknown("its driver lists no rates");
    }
  }
  return offered.empty() ? Modes::Unknown("its driver lists no modes") : Modes(std::move(offered));
}

}  // namespace

void AddDriverModes(const ModeAsker& ask, UsbInventory& usb) {
  for (UsbDevice& device : usb.devices) {
    if (device.role == UsbRole::kCapture && !device.video_nodes.empty()) {
      device.driver_modes = ModesOf(ask, device);
    }
  }
}

}  // namespace probes
