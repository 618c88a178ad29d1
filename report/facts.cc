// SPDX-License-Identifier: Apache-2.0
//
// Gathers what the assessment starts from.

#include "report/facts.h"

#include <algorithm>
#include <cstddef>

namespace report {

Facts GatherFacts(const Evidence& evidence) {
  Facts facts{.evidence = evidence,
              .usb = MatchUsbSources(evidence.profile, evidence.demand, evidence.inventory.usb),
              .links = {},
              .run = JudgeRun(evidence.results, evidence.profile.margins),
              .cpu = JudgedCpuUse(evidence.results, evidence.telemetry),
              .places = RecordingPlaces(evidence)};
  facts.links = LoadUsbLinks(evidence.inventory.usb, facts.usb);
  return facts;
}

StreamDemand SumStreams(const Evidence& evidence) {
  StreamDemand streams;
  for (std::size_t i = 0; i < evidence.profile.outputs.size(); ++i) {
    const profiles::Output& output = evidence.profile.outputs[i];
    if (output.kind != profiles::OutputKind::kStream) {
      continue;
    }
    const double wire =
        i < evidence.demand.outputs.size() ? evidence.demand.outputs[i].network_bits_per_second : 0;
    const bool loopback = output.url.empty() || output.url == "loopback";
    (loopback ? streams.loopback : streams.abroad) += wire;
    (loopback ? streams.loopback_names : streams.abroad_names).push_back(output.name);
  }
  return streams;
}

const probes::NetworkLink* DefaultLink(const probes::NetworkInventory& network) {
  const auto found = std::find_if(network.links.begin(), network.links.end(), [](const auto& link) {
    return link.default_route && !link.loopback;
  });
  return found == network.links.end() ? nullptr : &*found;
}

}  // namespace report
