// SPDX-License-Identifier: Apache-2.0
//
// Headroom of the PCIe links that capture comes in on, and of those that it shares.

#include <cstddef>
#include <optional>

#include <fmt/format.h>

#include "base/text.h"
#include "report/headroom/headroom.h"
#include "report/loads/pcie_capacity.h"
#include "report/loads/pcie_load.h"
#include "report/loads/subjects.h"

namespace report {
namespace {

constexpr char kPayload[] = "less line code and packet headers";

double AskedOfPcie(const Facts& facts) {
  double sum = 0;
  for (std::size_t i = 0; i < facts.profile().sources.size(); ++i) {
    if (facts.profile().sources[i].arrives_by == profiles::ArrivesBy::kPcie &&
        i < facts.demand().sources.size()) {
      sum += facts.demand().sources[i].bytes_per_second;
    }
  }
  return sum;
}

Headroom Row(const Facts& facts, std::string item, double demand) {
  Headroom row = NewRow(Resource::kPcie, std::move(item), "bytes/s");
  row.demand = demand;
  row.margin_percent = facts.profile().margins.usb_percent;
  return row;
}

void SetUnknown(const Facts& facts, Headroom& row) {
  if (PcieLinksHidden(facts.machine())) {
    row.source = "a virtual machine does not show the links of its PC";
    row.how_to_prove = "run on the PC itself, outside the virtual machine";
  } else {
    row.source = "PCIe link speed or width unknown";
    row.how_to_prove = "run on the PC itself, so that the link can be read";
  }
}

/// The card's own link, or a narrower one on its way up.
void AddCard(const Facts& facts, const probes::PciDevice& card, const PcieCardLoad& load,
             std::vector<Headroom>& rows) {
  Headroom row =
      Row(facts, fmt::format("PCIe card {} ({})", base::Printable(card.name, 60), card.address),
          load.bytes_per_second);
  row.about = {PciSubject(card.address)};
  const auto way = PcieWay(facts.machine().pci, card.address);
  const PcieHop* narrowest = Narrowest(way);
  const probes::PciLink& link = narrowest != nullptr ? narrowest->Link() : card.link;
  const std::optional<double> capacity =
      PcieLinksHidden(facts.machine()) ? std::nullopt : PcieBytesPerSecond(link);
  if (capacity) {
    row.source = fmt::format("available: {}, {}", PcieLinkText(link), kPayload);
    if (narrowest != nullptr && narrowest->lower->address != card.address) {
      row.source += fmt::format("; the narrowest link on its way, at {}",
                                base::Printable(narrowest->Key(), 20));
    }
    SetCapacityFor(row, *capacity, load.assumed);
  } else {
    SetUnknown(facts, row);
  }
  rows.push_back(row);
}

void AddCards(const Facts& facts, std::vector<Headroom>& rows) {
  const double asked = AskedOfPcie(facts);
  const auto& cards = facts.machine().gpu.capture_cards;
  if (asked <= 0) {
    return;
  }
  if (cards.empty()) {
    Headroom row = Row(facts, "the capture card", asked);
    const base::Reading<bool>& present = facts.machine().pci.present;
    row.source = present.known() ? "no capture card found on PCIe"
                                 : "PCI could not be read: " + present.why_unknown();
    row.how_to_prove = present.known() ? "fit the card, then run again"
                                       : "run where PCI can be read: on the PC itself";
    rows.push_back(row);
  }
  const std::vector<PcieCardLoad> loads = PcieCardLoads(facts);
  for (std::size_t i = 0; i < cards.size(); ++i) {
    if (loads[i].bytes_per_second > 0) {
      AddCard(facts, cards[i], loads[i], rows);
    }
  }
}

// A USB controller on a card of its own may have less PCIe behind it than its ports offer.
void AddUsbControllers(const Facts& facts, std::vector<Headroom>& rows) {
  if (PcieLinksHidden(facts.machine())) {
    return;
  }
  for (const UsbLink& usb : facts.links) {
    if (usb.device != nullptr || usb.controller == nullptr || usb.bytes_per_second <= 0) {
      continue;
    }
    const auto way = PcieWay(facts.machine().pci, usb.controller->address);
    const PcieHop* narrowest = Narrowest(way);
    if (narrowest == nullptr) {
      continue;  // part of the chipset: no link of its own
    }
    Headroom row = Row(
        facts,
        fmt::format("PCIe link of USB controller {}", base::Printable(usb.controller->address, 40)),
        usb.bytes_per_second);
    row.about = {PciSubject(usb.controller->address)};
    row.source = fmt::format("available: {}, {}", PcieLinkText(narrowest->Link()), kPayload);
    SetCapacityFor(row, *narrowest->BytesPerSecond(), AssumedOf(facts, usb));
    rows.push_back(row);
  }
}

void AddShared(const Facts& facts, std::vector<Headroom>& rows) {
  for (const PcieLoad& load : PcieLoads(facts)) {
    if (!load.Capture() || (load.Functions() < 2 && !load.Recording())) {
      continue;
    }
    Headroom row = Row(facts, load.Name(), load.Fuller());
    row.about = {PciSubject(load.hop.Key())};
    for (const PcieUse& use : load.uses) {
      AddSubject(PciSubject(use.function), row.about);
    }
    const std::optional<double> capacity = load.hop.BytesPerSecond();
    if (!capacity) {
      continue;  // the rows of what shares it say what is not known
    }
    row.source = fmt::format("available: {}, {}, each way; shared by",
                             PcieLinkText(load.hop.Link()), kPayload);
    for (std::size_t i = 0; i < load.uses.size(); ++i) {
      row.source += (i == 0 ? " " : ", ") + load.uses[i].what;
    }
    AssumedPart assumed = load.assumed;
    assumed.demand = load.Fuller() - load.FullerForCertain();
    SetCapacityFor(row, *capacity, assumed);
    rows.push_back(row);
  }
}

}  // namespace

void PcieHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  AddCards(facts, rows);
  AddUsbControllers(facts, rows);
  AddShared(facts, rows);
}

}  // namespace report
