// SPDX-License-Identifier: Apache-2.0
//
// PCIe links.

#include <algorithm>
#include <set>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/headroom/headroom.h"
#include "report/loads/pcie_capacity.h"
#include "report/loads/pcie_load.h"
#include "report/loads/subjects.h"
#include "report/rules/rules.h"
#include "report/words/cautions.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report::rules {
namespace {

/// A function whose link matters to the production, and what it is to people.
struct Watched {
  const probes::PciDevice* function;
  std::string what;
};

std::vector<Watched> WatchedFunctions(const RuleInput& input) {
  std::vector<Watched> watched;
  std::set<std::string> seen;
  const auto add = [&](const probes::PciDevice& function, const std::string& what) {
    if (seen.insert(function.address).second) {
      watched.push_back(
          {&function,
           fmt::format("{} {} ({})", what, base::Printable(function.name, 60), function.address)});
    }
  };
  for (const probes::PciDevice& card : input.facts.machine().gpu.capture_cards) {
    add(card, "Capture card");
  }
  for (const PcieUse& use : PcieUses(input.facts)) {
    const auto* function = FindFunction(input.facts.machine().pci, use.function);
    if (function != nullptr) {
      add(*function, use.recording ? "Recording disk's controller"
                                   : (use.capture ? "USB controller" : "Network card"));
    }
  }
  return watched;
}

/// What both ends can, where the port's best is known.
struct Best {
  base::Reading<int> width;
  base::Reading<double> speed_gts;
};

template <typename T>
base::Reading<T> Lesser(const base::Reading<T>& one, const base::Reading<T>& other) {
  return one.known() && other.known() ? base::Reading<T>(std::min(*one, *other)) : one;
}

Best BestOfBoth(const PcieHop& hop) {
  Best best{hop.lower->link.best_width, hop.lower->link.best_speed_gts};
  if (hop.upper != nullptr) {
    best.width = Lesser(best.width, hop.upper->link.best_width);
    best.speed_gts = Lesser(best.speed_gts, hop.upper->link.best_speed_gts);
  }
  return best;
}

void AddReduced(const Watched& watched, const PcieHop& hop, std::vector<Finding>& findings) {
  const probes::PciLink& link = hop.Link();
  const Best best = BestOfBoth(hop);
  const bool narrow = link.width.known() && best.width.known() && *link.width < *best.width;
  const bool slow =
      link.speed_gts.known() && best.speed_gts.known() && *link.speed_gts < *best.speed_gts;
  if (!narrow && !slow) {
    return;
  }
  Finding finding = NewFinding("pcie-link-reduced", narrow ? Severity::kWarn : Severity::kNote);
  finding.title = watched.what + " does not run at its full link";
  finding.about = {PciSubject(watched.function->address)};
  if (hop.lower->address != watched.function->address) {
    finding.title =
        fmt::format("{} has a link on its way up that does not run in full", watched.what);
    finding.evidence.push_back(fmt::format("link at {}", base::Printable(hop.Key(), 20)));
    AddSubject(PciSubject(hop.Key()), finding.about);
  }
  if (narrow) {
    finding.evidence.push_back(fmt::format("{} of {}", Plural(*link.width, "lane"), *best.width));
  }
  if (slow) {
    finding.evidence.push_back(
        fmt::format("{:g} GT/s of {:g}, which may be power saving while idle", *link.speed_gts,
                    *best.speed_gts));
  }
  finding.action =
      WithCaution("Reseat the card, or move it to a slot with all its lanes.", kCautionInside);
  findings.push_back(finding);
}

/// Ways of what is watched; a card that the list of functions lacks has its own link only.
std::vector<PcieHop> WayOf(const RuleInput& input, const Watched& watched) {
  auto way = PcieWay(input.facts.machine().pci, watched.function->address);
  if (way.empty()) {
    way.push_back({nullptr, watched.function});
  }
  return way;
}

std::string UseLine(const PcieUse& use) {
  return fmt::format("{}: {} ({})", use.what,
                     base::FormatBytesPerSecond(std::max(use.to_memory, use.from_memory)),
                     use.to_memory >= use.from_memory ? "in" : "out");
}

bool OfChipset(const std::string& name) {
  // How the hardware database words the functions of a chipset (common practice).
  return name.find("PCH") != std::string::npos || name.find("Chipset") != std::string::npos ||
         name.find("Platform Controller Hub") != std::string::npos;
}

}  // namespace

void PcieLinkReduced(const RuleInput& input, std::vector<Finding>& findings) {
  if (PcieLinksHidden(input.facts.machine())) {
    return;
  }
  std::set<std::string> told;
  for (const Watched& watched : WatchedFunctions(input)) {
    for (const PcieHop& hop : WayOf(input, watched)) {
      if (told.insert(hop.Key()).second) {
        AddReduced(watched, hop, findings);
      }
    }
  }
}

void PciePortNarrow(const RuleInput& input, std::vector<Finding>& findings) {
  for (const PcieLoad& load : PcieLoads(input.facts)) {
    const auto capacity = load.hop.BytesPerSecond();
    const probes::PciDevice* port = load.hop.upper;
    if (!load.Capture() || !capacity || port == nullptr || !port->link.best_width.known() ||
        !load.hop.lower->link.best_width.known() ||
        *port->link.best_width >= *load.hop.lower->link.best_width) {
      continue;
    }
    const double left = HeadroomPercent(load.Fuller(), *capacity);
    if (left >= input.facts.profile().margins.usb_percent) {
      continue;
    }
    Finding finding = NewFinding("pcie-port-narrow", Severity::kWarn);
    finding.title = fmt::format("The port above {} ({}) has fewer lanes than it could use",
                                base::Printable(load.hop.lower->name, 60), load.hop.lower->address);
    finding.evidence.push_back(fmt::format(
        "port {} has {} of the {} lanes that the card has", base::Printable(port->address, 20),
        *port->link.best_width, *load.hop.lower->link.best_width));
    finding.about = {PciSubject(load.hop.lower->address), PciSubject(port->address)};
    finding.evidence.push_back(fmt::format("{} needed of {}",
                                           base::FormatBytesPerSecond(load.Fuller()),
                                           base::FormatBytesPerSecond(*capacity)));
    finding.action = WithCaution(
        "Move the card to a longer slot, best one that is wired to the CPU.", kCautionInside);
    findings.push_back(finding);
  }
}

void PcieSharedUplink(const RuleInput& input, std::vector<Finding>& findings) {
  const double margin = input.facts.profile().margins.usb_percent;
  for (const PcieLoad& load : PcieLoads(input.facts)) {
    const auto capacity = load.hop.BytesPerSecond();
    if (!load.Capture() || !load.Recording() || !capacity) {
      continue;
    }
    const double left = HeadroomPercent(load.Fuller(), *capacity);
    if (left >= margin) {
      continue;
    }
    const bool over = load.FullerForCertain() > *capacity;
    Finding finding = NewFinding("pcie-shared-uplink", over ? Severity::kStop : Severity::kWarn);
    finding.title = fmt::format("Captures and the recording disk share the {}: {} of {}",
                                load.Name(), base::FormatBytesPerSecond(load.Fuller()),
                                base::FormatBytesPerSecond(*capacity));
    finding.evidence.push_back(
        fmt::format("link {}, {} left, margin {}", PcieLinkText(load.hop.Link()),
                    FormatHeadroomPercent(left, margin), FormatMarginPercent(margin)));
    finding.about = {PciSubject(load.hop.Key())};
    for (const PcieUse& use : load.uses) {
      finding.evidence.push_back(UseLine(use));
      AddSubject(PciSubject(use.function), finding.about);
    }
    if (load.assumed.demand > 0) {
      finding.evidence.push_back("assumed: " + load.assumed.Text());
    }
    finding.action = WithCaution(
        "Move the disk or the capture card to a slot that is wired to the CPU, or record to "
        "another disk.",
        kCautionInside);
    findings.push_back(finding);
  }
}

void PcieChipset(const RuleInput& input, std::vector<Finding>& findings) {
  if (PcieLinksHidden(input.facts.machine())) {
    return;
  }
  Finding finding = NewFinding("pcie-chipset", Severity::kNote);
  std::set<std::string> functions;
  bool capture = false;
  double sum = 0;
  for (const PcieUse& use : PcieUses(input.facts)) {
    const auto chain = PcieChain(input.facts.machine().pci, use.function);
    if (chain.empty() || !OfChipset(chain.front()->name)) {
      continue;
    }
    functions.insert(use.function);
    capture = capture || use.capture;
    sum += std::max(use.to_memory, use.from_memory);
    AddSubject(PciSubject(use.function), finding.about);
    AddSubject(PciSubject(chain.front()->address), finding.about);
    finding.evidence.push_back(fmt::format("{}, by {} {}", UseLine(use),
                                           base::Printable(chain.front()->name, 60),
                                           base::Printable(chain.front()->address, 20)));
  }
  if (!capture || functions.size() < 2) {
    return;
  }
  finding.title = fmt::format(
      "{} share the chipset's uplink to the CPU, whose rate this PC does not show",
      CountText(static_cast<long long>(functions.size()), "function in use", "functions in use"));
  finding.evidence.push_back(
      fmt::format("together {}, both directions", base::FormatBytesPerSecond(sum)));
  finding.action = WithCaution(
      "Look the uplink up in the board's manual; where it is tight, use a slot that is wired to "
      "the CPU.",
      kCautionInside);
  findings.push_back(finding);
}

void PcieLinkSleep(const RuleInput& input, std::vector<Finding>& findings) {
  std::set<std::string> told;
  Finding finding = NewFinding("pcie-link-sleep", Severity::kNote);
  for (const PcieUse& use : PcieUses(input.facts)) {
    const auto* function = FindFunction(input.facts.machine().pci, use.function);
    if (!use.capture || function == nullptr || !function->link_sleep.known() ||
        function->link_sleep->find("L1.") == std::string::npos ||
        !told.insert(function->address).second) {
      continue;
    }
    finding.evidence.push_back(fmt::format("{} ({}): {} switched on",
                                           base::Printable(function->name, 60), function->address,
                                           base::Printable(*function->link_sleep, 60)));
    finding.about.push_back(PciSubject(function->address));
  }
  if (finding.evidence.empty()) {
    return;
  }
  finding.title = "Links that captures come in on may sleep deeply between pictures";
  finding.action =
      "Where frames are dropped and nothing is full, switch these states off for the show (the "
      "ASPM "
      "policy \"performance\") and compare.";
  findings.push_back(finding);
}

}  // namespace report::rules
