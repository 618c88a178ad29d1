// SPDX-License-Identifier: Apache-2.0
//
// The PCIe links between a function and its root port.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "probes/data/inventory.h"

namespace report {

/// One link on the way. Borrows the inventory's entries.
struct PcieHop {
  const probes::PciDevice* upper = nullptr;  // the port above; null: the function hangs at no port
  const probes::PciDevice* lower = nullptr;

  /// What tells links apart: the port's address, else the function's.
  const std::string& Key() const;
  /// As the lower end tells it, else the upper one; both ends train to the same.
  const probes::PciLink& Link() const;
  std::optional<double> BytesPerSecond() const;
};

/// Links from the function at `address` up, nearest first. Ports are paired from
/// the root complex down: root port and what hangs there, then a switch's
/// downstream port and what hangs there. Empty for functions of the root complex itself.
std::vector<PcieHop> PcieWay(const probes::PciInventory& pci, const std::string& address);

/// The link of `way` that carries least; null when none is known.
const PcieHop* Narrowest(const std::vector<PcieHop>& way);

/// A virtual machine shows links that its host made up.
bool PcieLinksHidden(const probes::Inventory& machine);

const probes::PciDevice* FindFunction(const probes::PciInventory& pci, const std::string& address);

/// The functions above and the function itself, from the root complex down.
std::vector<const probes::PciDevice*> PcieChain(const probes::PciInventory& pci,
                                                const std::string& address);

/// "8 GT/s x4"; what is not known is said.
std::string PcieLinkText(const probes::PciLink& link);

}  // namespace report
