// SPDX-License-Identifier: Apache-2.0
//
// Words for PCI functions and their links.

#include "report/show/rows/pcie_lines.h"

#include <fmt/format.h>

#include "base/text.h"
#include "report/loads/pcie_path.h"

namespace report {
namespace {

// PCI Code and ID Assignment Specification 1.11.
PciKind KindOf(const probes::PciDevice& function) {
  if (!function.video_nodes.value_or({}).empty()) {
    return PciKind::kCapture;  // whatever its class
  }
  const int class_code = function.class_code;
  switch (class_code >> 8) {
    case 0x0400:
    case 0x0480:
      return PciKind::kCapture;
    case 0x0c03:
      return PciKind::kUsb;
    default:
      break;
  }
  switch (class_code >> 16) {
    case 0x01:
      return PciKind::kDisk;
    case 0x02:
      return PciKind::kNetwork;
    case 0x03:
      return PciKind::kGraphics;
    default:
      return PciKind::kNone;
  }
}

std::string BestText(const probes::PciLink& link) {
  if (!link.best_speed_gts.known() || !link.best_width.known()) {
    return "";
  }
  return fmt::format("{:g} GT/s x{}", *link.best_speed_gts, *link.best_width);
}

/// Of a function without a port above it whose link is told.
std::string OwnLinkText(const probes::PciLink& link) {
  if (link.width.known()) {
    return PcieLinkText(link);
  }
  return link.none.value_or(false) ? "none of its own" : "unknown: " + link.none.why_unknown();
}

std::string WayText(const std::vector<PcieHop>& way) {
  std::string text;
  for (const PcieHop& hop : way) {
    if (hop.upper != nullptr) {
      text += fmt::format("{}{} ({})", text.empty() ? "" : ", ",
                          base::Printable(hop.upper->address, 20), PcieLinkText(hop.Link()));
    }
  }
  return text;
}

}  // namespace

LinkWords LinkWordsOf(const probes::Inventory& machine, const probes::PciDevice& function) {
  if (PcieLinksHidden(machine)) {
    return {"unknown: a virtual machine does not show it", "", false};
  }
  const auto way = PcieWay(machine.pci, function.address);
  const probes::PciLink& link = way.empty() ? function.link : way.front().Link();
  LinkWords words;
  words.now = way.empty() ? OwnLinkText(link) : PcieLinkText(link);
  words.best = BestText(function.link);
  words.known = link.width.known() || (way.empty() && link.none.value_or(false));
  return words;
}

std::vector<PcieLine> PcieLines(const probes::Inventory& machine) {
  const bool hidden = PcieLinksHidden(machine);
  std::vector<PcieLine> lines;
  for (const probes::PciDevice& function : machine.pci.functions) {
    PcieLine line;
    line.kind = KindOf(function);
    if (line.kind == PciKind::kNone) {
      continue;
    }
    line.address = base::Printable(function.address, 20);
    line.name = base::Printable(function.name, 80);
    const LinkWords words = LinkWordsOf(machine, function);
    line.link = words.now;
    line.best = words.best;
    line.way = hidden ? "" : WayText(PcieWay(machine.pci, function.address));
    lines.push_back(std::move(line));
  }
  return lines;
}

}  // namespace report
