// SPDX-License-Identifier: Apache-2.0
//
// Network.

#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/headroom/headroom.h"
#include "report/loads/network_loads.h"
#include "report/loads/subjects.h"
#include "report/rules/rules.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report::rules {
namespace {

bool UsesNetwork(const RuleInput& input) {
  const StreamDemand streams = SumStreams(input.facts.evidence);
  return streams.loopback + streams.abroad > 0 ||
         input.facts.demand().network_in_bits_per_second > 0;
}

std::string LinkName(const probes::NetworkLink& link) {
  return base::Printable(link.name, 20);
}

void AddLines(const NetworkLoad& load, std::vector<std::string>& evidence) {
  evidence.insert(evidence.end(), load.in_lines.begin(), load.in_lines.end());
  evidence.insert(evidence.end(), load.out_lines.begin(), load.out_lines.end());
}

void CountLine(const base::Reading<std::int64_t>& count, const char* what,
               std::vector<std::string>& evidence) {
  if (count.known() && *count > 0) {
    evidence.push_back(fmt::format("{} {}", *count, what));
  }
}

}  // namespace

void UplinkUnmeasured(const RuleInput& input, std::vector<Finding>& findings) {
  const StreamDemand streams = SumStreams(input.facts.evidence);
  const double asked = streams.loopback + streams.abroad;
  if (asked <= 0) {
    return;
  }
  Finding finding = NewFinding("uplink-unmeasured", Severity::kWarn);
  finding.title = fmt::format("Uplink not measured: {} must leave for the internet",
                              base::FormatBitsPerSecond(asked));
  for (const std::string& name : streams.loopback_names) {
    finding.evidence.push_back(base::Printable(name) + " was sent to this PC itself");
    finding.about.push_back(OutputSubject(name));
  }
  for (const std::string& name : streams.abroad_names) {
    finding.evidence.push_back(base::Printable(name) + " goes to an address of your own");
    finding.about.push_back(OutputSubject(name));
  }
  if (DefaultLink(input.facts.machine().network) == nullptr) {
    finding.evidence.emplace_back("no link with a default route");
  }
  // Common practice: stream with at most about 70 % of the measured uplink.
  finding.action = fmt::format(
      "Measure the uplink at the venue at the hour of the show, more than once; the lowest figure "
      "should be at least {}.",
      base::FormatBitsPerSecond(asked / 0.7));
  findings.push_back(finding);
}

void NetworkTooSlow(const RuleInput& input, std::vector<Finding>& findings) {
  for (const Headroom& row : input.headroom) {
    if (row.resource != Resource::kNetwork || !row.capacity ||
        (!OverCapacity(row) && !BelowMargin(row))) {
      continue;
    }
    Finding finding =
        NewFinding("network-slow", OverCapacity(row) ? Severity::kStop : Severity::kWarn);
    finding.title =
        fmt::format("Network {} must carry {} and has {}", row.item,
                    FormatNeeded(row.demand, row.unit), FormatAvailable(*row.capacity, row.unit));
    finding.evidence.push_back(row.source);
    finding.about = row.about;
    finding.action = "Use a faster port, switch and cable (a worn cable often falls to 100 Mb/s).";
    findings.push_back(finding);
  }
}

void HalfDuplex(const RuleInput& input, std::vector<Finding>& findings) {
  for (const NetworkLoad& load : NetworkLoads(input.facts.evidence)) {
    if (load.what == nullptr || !load.what->duplex.known() || *load.what->duplex != "half") {
      continue;
    }
    findings.push_back({.id = "network-half-duplex",
                        .severity = Severity::kWarn,
                        .title = LinkName(*load.what) + " cannot send and receive at once",
                        .evidence = {"duplex of " + LinkName(*load.what) + " is half"},
                        .action = "Let both ends of the cable negotiate, or change the cable or "
                                  "the switch.",
                        .about = {NetworkSubject(load.what->name)}});
  }
}

void WirelessLink(const RuleInput& input, std::vector<Finding>& findings) {
  for (const NetworkLoad& load : NetworkLoads(input.facts.evidence)) {
    if (load.what == nullptr || !load.what->wireless.known() || !*load.what->wireless) {
      continue;
    }
    Finding finding = NewFinding("network-wireless", Severity::kWarn);
    finding.title = "The production's network goes over the wireless link " + LinkName(*load.what);
    finding.about = {NetworkSubject(load.what->name)};
    if (load.what->default_route) {
      finding.evidence.push_back(LinkName(*load.what) + " holds the default route");
    }
    AddLines(load, finding.evidence);
    finding.action = "Use a cable: an audience's phones share the air.";
    findings.push_back(finding);
  }
}

void NoRoute(const RuleInput& input, std::vector<Finding>& findings) {
  for (const NetworkLoad& load : NetworkLoads(input.facts.evidence)) {
    if (!load.link.empty() || !load.abroad) {
      continue;
    }
    Finding finding = NewFinding("network-no-route", Severity::kWarn);
    finding.title = "No link of this PC leads to where a stream goes";
    AddLines(load, finding.evidence);
    finding.action = "Connect the network of the show, or correct the URL, and run again.";
    findings.push_back(finding);
  }
}

void NetworkErrors(const RuleInput& input, std::vector<Finding>& findings) {
  if (!UsesNetwork(input)) {
    return;
  }
  for (const probes::NetworkLink& link : input.facts.machine().network.links) {
    if (link.loopback) {
      continue;
    }
    Finding finding = NewFinding("network-errors", Severity::kNote);
    CountLine(link.receive_errors, "errors received", finding.evidence);
    CountLine(link.transmit_errors, "errors sent", finding.evidence);
    const bool damaged = !finding.evidence.empty();
    CountLine(link.receive_drops, "packets dropped on receipt", finding.evidence);
    CountLine(link.transmit_drops, "packets dropped before sending", finding.evidence);
    if (finding.evidence.empty()) {
      continue;
    }
    finding.severity = damaged ? Severity::kWarn : Severity::kNote;
    finding.title = fmt::format("{} has counted {} since it came up", LinkName(link),
                                damaged ? "errors" : "dropped packets");
    finding.about = {NetworkSubject(link.name)};
    finding.action = "Change the cable or port, and see whether the counts still grow.";
    findings.push_back(finding);
  }
}

}  // namespace report::rules
