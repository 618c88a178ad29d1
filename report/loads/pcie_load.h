// SPDX-License-Identifier: Apache-2.0
//
// What the production sends over each PCIe link.

#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "report/loads/assumed_demand.h"
#include "report/loads/facts.h"
#include "report/loads/pcie_path.h"

namespace report {

/// One use of a PCI function. Links carry both directions at once.
struct PcieUse {
  std::string function;  // address
  std::string what;      // "recording to /srv/tapes"
  double to_memory = 0;  // bytes/s: pictures and packets that come in
  double from_memory = 0;
  AssumedPart assumed = {};  // of what goes to memory
  bool capture = false;
  bool recording = false;
};

/// Capture cards, USB controllers with captures, recording disks, network links in use.
std::vector<PcieUse> PcieUses(const Facts& facts);

/// Payload of the sources on a card, and what of it is assumed.
struct PcieCardLoad {
  double bytes_per_second = 0;
  AssumedPart assumed = {};
};
/// Of the sources that arrive by PCIe, one for each card: sources that name a card
/// go there, the rest are dealt out in order.
std::vector<PcieCardLoad> PcieCardLoads(const Facts& facts);

/// A link and all that goes over it. Borrows the evidence.
struct PcieLoad {
  PcieHop hop;
  std::vector<PcieUse> uses = {};
  double to_memory = 0;
  double from_memory = 0;
  AssumedPart assumed = {};  // of what goes to memory

  /// The fuller direction. What is read from memory is asked for in packets that
  /// travel the other way: 24 bytes for each 512 asked for.
  double Fuller() const;
  /// The same without what is assumed.
  double FullerForCertain() const;
  bool Capture() const;
  bool Recording() const;
  /// "PCIe link at 0000:00:1c.0": the link as rows and findings name it.
  std::string Name() const;
  /// PCI functions that share it.
  std::size_t Functions() const;
};

/// Every link that something goes over, in the order of the ports' addresses.
/// None in a virtual machine, whose links are made up.
std::vector<PcieLoad> PcieLoads(const Facts& facts);

}  // namespace report
