// SPDX-License-Identifier: Apache-2.0
//
// Headroom of the network link, the way to the internet, and displays.

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "report/headroom.h"
#include "report/network_capacity.h"

namespace report {
namespace {

struct Direction {
  const char* name;
  double bits_per_second;
  bool needed;  // false: an unknown link does not leave the profile unproven
};

void AddDirection(const Facts& facts, const Direction& direction, std::vector<Headroom>& rows) {
  if (direction.bits_per_second <= 0) {
    return;
  }
  const probes::NetworkLink* link = DefaultLink(facts.machine().network);
  const std::optional<NetworkCapacity> capacity =
      link != nullptr ? LinkCapacity(*link) : std::nullopt;
  if (!capacity && !direction.needed) {
    return;
  }
  Headroom row = NewRow("network", "", "bits/s");
  row.item = direction.name;
  row.demand = direction.bits_per_second;
  row.margin_percent = facts.profile().margins.network_percent;
  if (capacity) {
    row.item += " on " + base::Printable(link->name, 20);
    SetCapacity(row, capacity->bits_per_second, capacity->basis);
    row.source = "demand: on the wire, headers included; capacity: " + capacity->source;
  } else {
    row.source = link == nullptr ? "no link with a default route"
                                 : "speed of " + base::Printable(link->name, 20) +
                                       " unknown: " + link->speed_mbps.why_unknown();
    row.how_to_prove = "connect the network as it will be, on the PC itself, and run again";
  }
  rows.push_back(row);
}

}  // namespace

std::optional<NetworkCapacity> LinkCapacity(const probes::NetworkLink& link) {
  if (!link.speed_mbps.known() || *link.speed_mbps <= 0) {
    return std::nullopt;
  }
  NetworkCapacity capacity{.bits_per_second = *link.speed_mbps * 1e6,
                           .basis = Basis::kComputed,
                           .source = fmt::format("negotiated {:g} Mb/s", *link.speed_mbps)};
  if (link.wireless.known() && *link.wireless) {
    // Common practice: about half of a wireless link's rate reaches programs.
    capacity.bits_per_second /= 2;
    capacity.basis = Basis::kAssumed;
    capacity.source += ", half of it on a wireless link";
  } else if (link.duplex.known() && *link.duplex == "half") {
    // Both directions and their collisions share the wire.
    capacity.bits_per_second /= 2;
    capacity.source += " shared by both directions";
  }
  return capacity;
}

void NetworkHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  const StreamDemand streams = SumStreams(facts.evidence);
  AddDirection(facts, {"in", facts.demand().network_in_bits_per_second, true}, rows);
  AddDirection(facts, {"out", streams.loopback + streams.abroad, streams.abroad > 0}, rows);
  if (streams.abroad > 0) {
    Headroom row = NewRow("uplink", "", "bits/s");
    row.demand = streams.abroad;
    row.margin_percent = facts.profile().margins.network_percent;
    row.source = "uplink not measured: a link's speed says nothing of the way beyond it";
    row.how_to_prove = fmt::format(
        "measure the uplink at the venue at the hour of the show, several times; the lowest figure "
        "must be at least {}",
        base::FormatBitsPerSecond(streams.abroad / std::max(0.05, 1 - row.margin_percent / 100)));
    rows.push_back(row);
  }
}

void DisplayHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  const auto& displays = facts.machine().gpu.displays;
  if (facts.demand().displays <= 0 || displays.empty()) {
    return;  // unreadable: a note, see the rules
  }
  Headroom row = NewRow("displays", "", "displays");
  row.demand = facts.demand().displays;
  SetCapacity(row, static_cast<double>(displays.size()), Basis::kRead);
  row.source = fmt::format(
      "capacity: connectors of the graphics adapters, {} in use now",
      std::count_if(displays.begin(), displays.end(), [](const auto& d) { return d.connected; }));
  rows.push_back(row);
}

}  // namespace report
