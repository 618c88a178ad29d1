// SPDX-License-Identifier: Apache-2.0
//
// Sums of the production's traffic on PCIe links.

#include "report/loads/pcie_load.h"

#include <algorithm>
#include <cstddef>
#include <map>
#include <set>

#include "base/text.h"
#include "report/loads/network_loads.h"
#include "report/loads/source_match.h"

namespace report {
namespace {

bool Named(const probes::PciDevice& card, const std::string& text) {
  return card.address == text || ContainsInAnyCase(card.name, text);
}

double FullerOf(double to_memory, double from_memory) {
  constexpr double kRequestBytes = 24;
  constexpr double kAskedForBytes = 512;  // what firmware usually sets (common practice)
  return std::max(to_memory + from_memory * kRequestBytes / kAskedForBytes, from_memory);
}

void Include(const AssumedPart& one, AssumedPart& sum) {
  sum.demand += one.demand;
  for (const std::string& assumption : one.assumed) {
    sum.Add(assumption);
  }
  sum.how_to_prove = one.demand > 0 ? one.how_to_prove : sum.how_to_prove;
}

void AddCards(const Facts& facts, std::vector<PcieUse>& uses) {
  const auto& cards = facts.machine().gpu.capture_cards;
  const std::vector<PcieCardLoad> loads = PcieCardLoads(facts);
  for (std::size_t i = 0; i < cards.size(); ++i) {
    if (loads[i].bytes_per_second > 0) {
      uses.push_back({.function = cards[i].address,
                      .what = "capture card " + base::Printable(cards[i].name, 60),
                      .to_memory = loads[i].bytes_per_second,
                      .assumed = loads[i].assumed,
                      .capture = true});
    }
  }
}

void AddUsbControllers(const Facts& facts, std::vector<PcieUse>& uses) {
  for (const UsbLink& link : facts.links) {
    if (link.device == nullptr && link.controller != nullptr && link.bytes_per_second > 0) {
      uses.push_back(
          {.function = link.controller->address,
           .what = "captures on USB controller " + base::Printable(link.controller->address, 40),
           .to_memory = link.bytes_per_second,
           .assumed = AssumedOf(facts, link),
           .capture = true});
    }
  }
}

// Each disk of a mirror takes the whole stream; one of a stripe less than is counted here.
void AddRecordings(const Facts& facts, std::vector<PcieUse>& uses) {
  for (const RecordingPlace& place : facts.places) {
    if (place.storage == nullptr) {
      continue;
    }
    std::set<std::string> controllers;
    for (const probes::BlockLayer& layer : place.storage->layers) {
      if (layer.kind == "disk" && !layer.pci_address.empty()) {
        controllers.insert(layer.pci_address);
      }
    }
    for (const std::string& controller : controllers) {
      uses.push_back({.function = controller,
                      .what = "recording to " + FolderText(place),
                      .from_memory = place.bytes_per_second,
                      .recording = true});
    }
  }
}

void AddNetwork(const Facts& facts, std::vector<PcieUse>& uses) {
  for (const NetworkLoad& load : NetworkLoads(facts.evidence)) {
    if (load.what != nullptr && !load.what->pci_address.empty()) {
      uses.push_back({.function = load.what->pci_address,
                      .what = "network link " + base::Printable(load.link, 20),
                      .to_memory = load.in_bits_per_second / 8,
                      .from_memory = load.out_bits_per_second / 8});
    }
  }
}

}  // namespace

std::vector<PcieCardLoad> PcieCardLoads(const Facts& facts) {
  const auto& cards = facts.machine().gpu.capture_cards;
  std::vector<PcieCardLoad> loads(cards.size());
  std::size_t next = 0;
  for (std::size_t i = 0; i < facts.profile().sources.size() && !cards.empty(); ++i) {
    const profiles::Source& source = facts.profile().sources[i];
    if (source.arrives_by != profiles::ArrivesBy::kPcie || i >= facts.demand().sources.size()) {
      continue;
    }
    const auto named = std::find_if(cards.begin(), cards.end(), [&](const auto& card) {
      return !source.device.empty() && Named(card, source.device);
    });
    const std::size_t at = named != cards.end() ? static_cast<std::size_t>(named - cards.begin())
                                                : next++ % cards.size();
    const double bytes = facts.demand().sources[i].bytes_per_second;
    const std::string assumption = AssumptionOf(source);
    loads[at].bytes_per_second += bytes;
    AssumedPart assumed{assumption.empty() ? 0 : bytes, {}, kOpenAllAtOnce};
    assumed.Add(assumption);
    Include(assumed, loads[at].assumed);
  }
  return loads;
}

std::vector<PcieUse> PcieUses(const Facts& facts) {
  std::vector<PcieUse> uses;
  AddCards(facts, uses);
  AddUsbControllers(facts, uses);
  AddRecordings(facts, uses);
  AddNetwork(facts, uses);
  return uses;
}

double PcieLoad::Fuller() const {
  return FullerOf(to_memory, from_memory);
}

double PcieLoad::FullerForCertain() const {
  return FullerOf(to_memory - assumed.demand, from_memory);
}

bool PcieLoad::Capture() const {
  return std::any_of(uses.begin(), uses.end(), [](const PcieUse& use) { return use.capture; });
}

bool PcieLoad::Recording() const {
  return std::any_of(uses.begin(), uses.end(), [](const PcieUse& use) { return use.recording; });
}

std::string PcieLoad::Name() const {
  return "PCIe link at " + base::Printable(hop.Key(), 20);
}

std::size_t PcieLoad::Functions() const {
  std::set<std::string> functions;
  for (const PcieUse& use : uses) {
    functions.insert(use.function);
  }
  return functions.size();
}

std::vector<PcieLoad> PcieLoads(const Facts& facts) {
  std::map<std::string, PcieLoad> by_port;
  if (PcieLinksHidden(facts.machine())) {
    return {};
  }
  for (const PcieUse& use : PcieUses(facts)) {
    for (const PcieHop& hop : PcieWay(facts.machine().pci, use.function)) {
      PcieLoad& load = by_port.try_emplace(hop.Key(), PcieLoad{.hop = hop}).first->second;
      load.uses.push_back(use);
      load.to_memory += use.to_memory;
      Include(use.assumed, load.assumed);
      load.from_memory += use.from_memory;
    }
  }
  std::vector<PcieLoad> loads;
  loads.reserve(by_port.size());
  for (auto& [port, load] : by_port) {
    loads.push_back(std::move(load));
  }
  return loads;
}

}  // namespace report
