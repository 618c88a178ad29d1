// SPDX-License-Identifier: Apache-2.0
//
// What a PC has, subject by subject.

#pragma once

#include <string>
#include <utility>
#include <vector>

#include "probes/data/inventory.h"
#include "report/show/blocks.h"

namespace report {

/// A part of facts alone; empty where there are none.
inline show::Part PartOf(std::string title, show::Facts facts) {
  show::Part part{std::move(title), {}};
  if (!facts.empty()) {
    part.blocks.emplace_back(std::move(facts));
  }
  return part;
}

/// ", on USB 2-1", ", at 0000:02:00.0"; empty where neither is known.
std::string PlaceText(const std::string& usb_path, const std::string& pci_address);

/// Model, board, firmware, memory.
show::Part BoardPart(const probes::BoardInventory& board);
show::Part CpuPart(const probes::CpuInventory& cpu);
/// Graphics adapters and capture cards with their drivers and links.
show::Part GraphicsPart(const probes::Inventory& machine);
/// Cards of a class that does not tell what they do.
show::Part OtherCardPart(const probes::PciInventory& pci);
/// Outputs with what is connected to them.
show::Part DisplayPart(const probes::GpuInventory& gpu);
/// Encoders and decoders that ran, and why the others refused.
show::Part CodecPart(const probes::CodecInventory& codecs);
/// Controllers with the hubs and devices below them.
show::Part UsbPart(const probes::UsbInventory& usb);
/// Each capture device on USB: driver, node, modes, alternate settings.
show::Part CameraPart(const probes::UsbInventory& usb);
/// Sockets with nothing in them, by the speed that they have.
show::Part FreePortPart(const probes::UsbInventory& usb);
/// PCI functions that matter to a production with their links.
show::Part PciePart(const probes::Inventory& machine);
/// Every disk with its health.
show::Part DiskPart(const probes::DiskInventory& disks);
/// A folder down to its disks.
show::Part StoragePart(const probes::StorageInventory& place);
show::Part NetworkPart(const probes::NetworkInventory& network);
show::Part SoundPart(const probes::SoundInventory& sound);
/// On a terminal, what is not known of the rarer ones is left to the long form.
show::Part SettingsPart(const probes::SettingsInventory& settings);
/// How each probe fared; on a terminal those that failed.
show::Part ChecksPart(const std::vector<probes::ProbeRun>& runs);

/// What to look for in a PC before a show, in little room; those without facts left out.
std::vector<show::Part> MachineInShort(const probes::Inventory& machine);
/// All of them, in order, those without facts left out.
std::vector<show::Part> MachineParts(const probes::Inventory& machine);

/// "1920x1080 at 60, 50, 25": the rates of a mode, fastest first.
std::string ModeText(const probes::CaptureMode& mode);

}  // namespace report
