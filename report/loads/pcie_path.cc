// SPDX-License-Identifier: Apache-2.0
//
// Follows PCI functions up to the root complex.

#include "report/loads/pcie_path.h"

#include <algorithm>

#include <fmt/format.h>

#include "report/loads/pcie_capacity.h"

namespace report {
namespace {

constexpr std::size_t kMostLevels = 32;  // a stored inventory may hold a loop

// Conventional bridges and functions of the root complex show no link.
bool HasLink(const probes::PciDevice& function) {
  const probes::PciLink& link = function.link;
  return link.width.known() || link.best_width.known();
}

bool Told(const probes::PciLink& link) {
  return link.speed_gts.known() && link.width.known();
}

}  // namespace

const std::string& PcieHop::Key() const {
  return upper != nullptr ? upper->address : lower->address;
}

const probes::PciLink& PcieHop::Link() const {
  return Told(lower->link) || upper == nullptr ? lower->link : upper->link;
}

std::optional<double> PcieHop::BytesPerSecond() const {
  return PcieBytesPerSecond(Link());
}

const probes::PciDevice* FindFunction(const probes::PciInventory& pci, const std::string& address) {
  const auto found = std::find_if(pci.functions.begin(), pci.functions.end(),
                                  [&](const auto& one) { return one.address == address; });
  return found == pci.functions.end() || address.empty() ? nullptr : &*found;
}

std::vector<const probes::PciDevice*> PcieChain(const probes::PciInventory& pci,
                                                const std::string& address) {
  std::vector<const probes::PciDevice*> chain;
  for (const auto* function = FindFunction(pci, address);
       function != nullptr && chain.size() < kMostLevels;
       function = FindFunction(pci, function->parent)) {
    chain.push_back(function);
  }
  std::reverse(chain.begin(), chain.end());
  return chain;
}

std::vector<PcieHop> PcieWay(const probes::PciInventory& pci, const std::string& address) {
  const auto chain = PcieChain(pci, address);
  std::vector<PcieHop> way;
  if (chain.size() == 1 && HasLink(*chain.front())) {
    way.push_back({nullptr, chain.front()});
    return way;
  }
  for (std::size_t i = 0; i + 1 < chain.size(); ++i) {
    if (HasLink(*chain[i]) && HasLink(*chain[i + 1])) {
      way.push_back({chain[i], chain[i + 1]});
      ++i;
    }
  }
  std::reverse(way.begin(), way.end());
  return way;
}

const PcieHop* Narrowest(const std::vector<PcieHop>& way) {
  const PcieHop* narrowest = nullptr;
  for (const PcieHop& hop : way) {
    const auto carries = hop.BytesPerSecond();
    if (carries && (narrowest == nullptr || *carries < *narrowest->BytesPerSecond())) {
      narrowest = &hop;
    }
  }
  return narrowest;
}

bool PcieLinksHidden(const probes::Inventory& machine) {
  const auto& hypervisor = machine.cpu.hypervisor;
  return hypervisor.known() && *hypervisor != "none" && !hypervisor->empty();
}

std::string PcieLinkText(const probes::PciLink& link) {
  const std::string speed =
      link.speed_gts.known() ? fmt::format("{:g} GT/s", *link.speed_gts) : "speed unknown";
  const std::string width =
      link.width.known() ? fmt::format("x{}", *link.width) : std::string("width unknown");
  return speed + " " + width;
}

}  // namespace report
