// SPDX-License-Identifier: Apache-2.0
//
// What the drivers of capture devices offer of the modes that descriptors list.

#pragma once

#include <functional>
#include <string>
#include <vector>

#include "base/result.h"
#include "probes/data/usb.h"

namespace probes {

/// Modes of one video node; none of a node that carries no pictures. Intervals are empty where the
/// driver lists none.
using ModeAsker = std::function<base::Result<std::vector<CaptureMode>>(const std::string& node)>;

/// The asker of this PC's own nodes: opens "/dev/NODE" for a moment and changes nothing.
base::Result<std::vector<CaptureMode>> AskVideoModes(const std::string& node);

/// Fills in `driver_modes` of every capture device that has nodes.
void AddDriverModes(const ModeAsker& ask, UsbInventory& usb);

}  // namespace probes
