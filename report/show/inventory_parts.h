// SPDX-License-Identifier: Apache-2.0
//
// What a technician looks for in a PC, in words that every writer shares.

#pragma once

#include <string>
#include <vector>

#include "base/reading.h"
#include "probes/data/inventory.h"

namespace report {

struct InventoryLine {
  std::string name;
  base::Reading<std::string> text;
  bool detail = false;  // left out where there is room for the main things only
};

/// A subject with its lines; one without any has nothing to show.
struct InventoryPart {
  std::string title;
  std::vector<InventoryLine> lines;
};

/// Model, board, firmware, memory.
InventoryPart BoardPart(const probes::BoardInventory& board);
/// Each capture device on USB: driver, node, modes, alternate settings.
InventoryPart CameraPart(const probes::UsbInventory& usb);
/// Sockets with nothing in them, by the speed that they have.
InventoryPart FreePortPart(const probes::UsbInventory& usb);
/// Outputs with what hangs on them.
InventoryPart DisplayPart(const probes::GpuInventory& gpu);
/// Cards of a class that does not tell what they do.
InventoryPart OtherCardPart(const probes::PciInventory& pci);
/// Every disk with its health.
InventoryPart DiskPart(const probes::DiskInventory& disks);
InventoryPart SoundPart(const probes::SoundInventory& sound);

/// All of them, those without lines left out.
std::vector<InventoryPart> InventoryParts(const probes::Inventory& inventory);

/// "1920x1080 at 60, 50, 25": the rates of a mode, fastest first.
std::string ModeText(const probes::CaptureMode& mode);

/// Why a CPU shows no caches.
std::string WhyNoCaches(const probes::CpuInventory& cpu);

/// "1.5 MiB"; caches are sized in powers of two by everyone.
std::string CacheSizeText(const base::Reading<std::int64_t>& bytes);

}  // namespace report
