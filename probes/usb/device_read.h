// SPDX-License-Identifier: Apache-2.0
//
// One USB device: its files in sysfs and its binary descriptors put together.

#pragma once

#include <string>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/usb.h"
#include "probes/sysfs/id_names.h"
#include "probes/usb/tree.h"

namespace probes {

/// A device node of some class (/sys/class/net, video4linux) and where it lies.
struct ClassNode {
  std::string name;    // "video0"
  std::string folder;  // "/sys/devices/.../video4linux/video0"
};

struct UsbReadContext {
  const base::MachineRoot& root;
  IdDatabase names = IdDatabase::Usb();
  std::vector<ClassNode> video;
  std::vector<ClassNode> network;
};

/// The device that the kernel calls `name` and keeps in `folder` (links resolved).
UsbDevice ReadUsbDevice(UsbReadContext& context, const std::string& name, const UsbPath& path,
                        const std::string& folder);

}  // namespace probes
