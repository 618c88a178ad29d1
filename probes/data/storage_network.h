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
  // Same text for folders that share one filesystem's space, wherever it is mounted.
  base::Reading<std::string> filesystem_id;
  base::Reading<std::vector<std::string>> mount_options;
  base::Reading<std::int64_t> size_bytes;
  base::Reading<std::int64_t> free_bytes;          // for an ordinary user
  base::Reading<std::int64_t> largest_file_bytes;  // the filesystem's limit
  base::Reading<bool> writable;
  std::vector<BlockLayer> layers;  // top first
  std::string why_no_layers;       // when there are none, or not down to a disk; else empty
};

/// What a disk says of its own health; what it does not tell is unknown with the reason.
struct DiskHealth {
  base::Reading<bool> sound;  // false: the disk warns of its own failure
  base::Reading<double> temperature_c;
  base::Reading<int> wear_percent;   // of the writing that it is made for; may pass 100
  base::Reading<int> spare_percent;  // of the cells that stand in for bad ones
  base::Reading<std::int64_t> powered_hours;
  base::Reading<std::int64_t> written_bytes;
  base::Reading<std::int64_t> media_errors;  // reads that nothing could correct
};

/// A whole disk, whether a folder stands on it or not.
struct Disk {
  BlockLayer device;
  base::Reading<bool> removable;
  DiskHealth health;
};

struct DiskInventory {
  base::Reading<bool> present;  // false: read, and there is none
  std::vector<Disk> disks;
};

struct NetworkLink {
  std::string name;
  bool loopback = false;
  base::Reading<bool> up;
  base::Reading<bool> wireless;
  base::Reading<double> speed_mbps;
  base::Reading<std::string> duplex;
  base::Reading<std::string> driver;
  base::Reading<int> mtu_bytes;  // longest packet that it sends whole
  base::Reading<std::int64_t> receive_errors;
  base::Reading<std::int64_t> receive_drops;
  base::Reading<std::int64_t> transmit_errors;
  base::Reading<std::int64_t> transmit_drops;
  std::string usb_path;  // when it hangs on USB; else empty
  std::string pci_address;
  bool default_route = false;
  std::vector<std::string> lower;  // links that this one stands on: of a bridge, bond or VLAN
};

/// A way out of this PC: packets to addresses that begin with `destination`
/// leave by `link`. The longest prefix wins, then the lowest metric.
struct NetworkRoute {
  std::string destination;  // number, "192.0.2.0" or "2001:db8::"
  int prefix_bits = 0;      // 0: the default route
  int metric = 0;
  std::string link;
};

/// A host's name and the number that this PC's resolver gave for it.
struct ResolvedHost {
  std::string host;
  base::Reading<std::string> address;
};

struct NetworkInventory {
  std::vector<NetworkLink> links;
  base::Reading<std::vector<NetworkRoute>> routes;  // without those inside this PC
  std::vector<ResolvedHost> resolved;               // names that were asked about
  std::string why_unknown;                          // when links could not be listed; else empty
};

}  // namespace probes
