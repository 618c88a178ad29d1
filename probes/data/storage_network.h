// SPDX-License-Identifier: Apache-2.0
//
// The storage behind a folder, and the network links.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/reading.h"

namespace probes {

/// One layer from the filesystem's device down to a disk.
struct BlockLayer {
  std::string name;  // "dm-0", "sda1", "nvme0n1"
  std::string kind;  // "partition", "crypt", "lvm", "raid", "loop", "disk", "virtual"
  std::string model;
  base::Reading<std::string> transport;  // "nvme", "sata", "usb", "virtio", "mmc" ...
  base::Reading<bool> rotational;
  base::Reading<std::int64_t> size_bytes;
  std::string usb_path;     // device path in the USB tree when it hangs there; else empty
  std::string pci_address;  // nearest PCI function above; else empty
};

/// What a recording folder stands on.
struct StorageInventory {
  std::string folder;
  base::Reading<std::string> mount_point;
  base::Reading<std::string> filesystem;  // "ext4", "vfat", "exfat", "ntfs3" ...
  base::Reading<std::vector<std::string>> mount_options;
  base::Reading<std::int64_t> size_bytes;
  base::Reading<std::int64_t> free_bytes;          // for an ordinary user
  base::Reading<std::int64_t> largest_file_bytes;  // the filesystem's limit
  base::Reading<bool> writable;
  std::vector<BlockLayer> layers;  // top first
  std::string why_no_layers;       // when there are none, or not down to a disk; else empty
};

struct NetworkLink {
  std::string name;
  bool loopback = false;
  base::Reading<bool> up;
  base::Reading<bool> wireless;
  base::Reading<double> speed_mbps;
  base::Reading<std::string> duplex;
  base::Reading<std::string> driver;
  base::Reading<std::int64_t> receive_errors;
  base::Reading<std::int64_t> receive_drops;
  base::Reading<std::int64_t> transmit_errors;
  base::Reading<std::int64_t> transmit_drops;
  std::string usb_path;  // when it hangs on USB; else empty
  std::string pci_address;
  bool default_route = false;
};

struct NetworkInventory {
  std::vector<NetworkLink> links;
  std::string why_unknown;  // when links could not be listed; else empty
};

}  // namespace probes
