// SPDX-License-Identifier: Apache-2.0
//
// Gathers what the assessment starts from.

#include "report/loads/facts.h"

#include <algorithm>
#include <cstddef>
#include <limits>

#include "profiles/words.h"

namespace report {

namespace {

/// Lowest metric of the link's default routes; the highest there is where none is known.
int DefaultMetric(const probes::NetworkInventory& network, const probes::NetworkLink& link) {
  int lowest = std::numeric_limits<int>::max();
  for (const probes::NetworkRoute& route : network.routes.value_or({})) {
    if (route.prefix_bits == 0 && route.link == link.name) {
      lowest = std::min(lowest, route.metric);
    }
  }
  return lowest;
}

}  // namespace

Facts GatherFacts(const Evidence& evidence) {
  Facts facts{.evidence = evidence,
              .usb = MatchUsbSources(evidence.profile, evidence.demand, evidence.inventory.usb),
              .streams = {},
              .links = {},
              .run = JudgeRun(evidence.results, evidence.profile.margins),
              .cpu = JudgedCpuUse(evidence.results, evidence.telemetry),
              .places = RecordingPlaces(evidence)};
  facts.streams = StreamsOf(evidence.inventory.usb, facts.usb);
  facts.links = LoadUsbLinks(evidence.inventory.usb, facts.streams);
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
    const bool loopback = output.url.empty() || output.url == profiles::kLoopback;
    (loopback ? streams.loopback : streams.abroad) += wire;
    (loopback ? streams.loopback_names : streams.abroad_names).push_back(output.name);
  }
  return streams;
}

const probes::NetworkLink* DefaultLink(const probes::NetworkInventory& network) {
  const probes::NetworkLink* best = nullptr;
  for (const probes::NetworkLink& link : network.links) {
    if (link.default_route && !link.loopback &&
        (best == nullptr || DefaultMetric(network, link) < DefaultMetric(network, *best))) {
      best = &link;
    }
  }
  return best;
}

}  // namespace report
