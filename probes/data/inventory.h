// SPDX-License-Identifier: Apache-2.0
//
// Everything that the probes say about one machine.

#pragma once

#include <string>
#include <vector>

#include "probes/data/board_sound.h"
#include "probes/data/cpu.h"
#include "probes/data/pci_gpu.h"
#include "probes/data/settings.h"
#include "probes/data/storage_network.h"
#include "probes/data/usb.h"

namespace probes {

/// How one probe fared; a probe's failure never loses the others.
struct ProbeRun {
  std::string probe;
  double seconds = 0;
  std::string failure;  // empty when it ran
};

struct Inventory {
  bool live = true;          // false: read from a captured tree
  std::string machine_root;  // "/" or the folder's name
  BoardInventory board;
  CpuInventory cpu;
  PciInventory pci;
  GpuInventory gpu;
  CodecInventory codecs;
  UsbInventory usb;
  std::vector<StorageInventory> storage;  // one per recording folder asked about
  DiskInventory disks;
  NetworkInventory network;
  SoundInventory sound;
  SettingsInventory settings;
  std::vector<ProbeRun> runs;
};

}  // namespace probes
