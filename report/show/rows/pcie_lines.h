// SPDX-License-Identifier: Apache-2.0
//
// PCI functions that matter to a production with their links, in words that every writer shares.

#pragma once

#include <array>
#include <string>
#include <vector>

#include "base/words.h"
#include "probes/data/inventory.h"

namespace report {

enum class PciKind { kNone, kCapture, kUsb, kDisk, kNetwork, kGraphics };

struct PcieLine {
  std::string address;
  PciKind kind = PciKind::kNone;
  std::string name;
  std::string link;  // "8 GT/s x4"; "none of its own"; or why it is unknown
  std::string best;  // "8 GT/s x4"; empty where nothing tells
  std::string way;   // ports above it, nearest first: "0000:00:1c.0 (8 GT/s x4)"
};

/// The link of one function, the same in every list.
struct LinkWords {
  std::string now;   // "8 GT/s x4"; "none of its own"; or why it is unknown
  std::string best;  // "8 GT/s x4"; empty where nothing tells
  bool known = true;
};
LinkWords LinkWordsOf(const probes::Inventory& machine, const probes::PciDevice& function);

/// In the order of the addresses; bridges are not listed by themselves.
std::vector<PcieLine> PcieLines(const probes::Inventory& machine);

}  // namespace report

template <>
inline constexpr std::array<base::Word<report::PciKind>, 6> base::kWords<report::PciKind>{
    {{report::PciKind::kNone, ""},
     {report::PciKind::kCapture, "capture"},
     {report::PciKind::kUsb, "USB"},
     {report::PciKind::kDisk, "disk"},
     {report::PciKind::kNetwork, "network"},
     {report::PciKind::kGraphics, "graphics"}}};
