// SPDX-License-Identifier: Apache-2.0
//
// From a mounted filesystem through partitions, encryption, volumes and RAID to the disks.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/system/machine_root.h"
#include "probes/data/storage_network.h"
#include "probes/procfs/mount_table.h"

namespace probes {

struct BlockStack {
  std::vector<BlockLayer> layers;  // top first
  std::string why_incomplete;      // empty when every branch ends in a disk or virtual device
};

/// The layers below `mount`, by /sys/dev/block, /sys/class/block and, for a
/// loop device or an overlay, the mount that holds its file or upper folder.
BlockStack ReadBlockStack(const base::MachineRoot& root, const std::vector<Mount>& mounts,
                          const Mount& mount);

/// The layers of one block device, by its kernel's name or mapper name ("sda3",
/// "/dev/mapper/swap").
BlockStack ReadDeviceStack(const base::MachineRoot& root, const std::vector<Mount>& mounts,
                           const std::string& device);

/// One block device alone, by its resolved path below /sys/devices.
BlockLayer ReadBlockDevice(const base::MachineRoot& root, const std::string& path);

/// The mount with the upper folder of an overlay, where that is visible here.
base::Result<const Mount*> UpperMount(const base::MachineRoot& root,
                                      const std::vector<Mount>& mounts, const Mount& overlay);

/// "crypt", "lvm", "raid", "multipath", "partition" or "virtual", from the
/// prefix that each maker of device-mapper devices gives to dm/uuid.
std::string KindOfDeviceMapper(std::string_view uuid);

}  // namespace probes
