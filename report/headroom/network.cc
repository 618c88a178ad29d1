// SPDX-License-Identifier: Apache-2.0
//
// Headroom of the network links, the way to the internet, and displays.

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "report/headroom/headroom.h"
#include "report/loads/network_capacity.h"
#include "report/loads/network_loads.h"
#include "report/loads/subjects.h"

namespace report {
namespace {

struct Direction {
  const char* name;
  double bits_per_second;
  bool needed;  // false: an unknown link does not leave the profile unproven
};

std::string Joined(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) {
    text += (text.empty() ? "" : "; ") + line;
  }
  return text;
}

void AddDirection(const Facts& facts, const NetworkLoad& load, const Direction& direction,
                  const std::vector<std::string>& ways, std::vector<Headroom>& rows) {
  if (direction.bits_per_second <= 0) {
    return;
  }
  const std::optional<NetworkCapacity> capacity =
      load.what != nullptr ? LinkCapacity(*load.what, facts.machine().network) : std::nullopt;
  if (!capacity && !direction.needed) {
    return;
  }
  Headroom row = NewRow(Resource::kNetwork, "", "bits/s");
  row.item = direction.name;
  if (!load.link.empty()) {
    row.about = {NetworkSubject(load.link)};
  }
  row.demand = direction.bits_per_second;
  row.margin_percent = facts.profile().margins.network_percent;
  if (capacity) {
    row.item += " on " + base::Printable(load.link, 20);
    SetCapacity(row, capacity->bits_per_second, capacity->basis);
    row.source = "needed: on the wire, headers included; available: " + capacity->source + "; " +
                 Joined(ways);
    row.how_to_prove = row.capacity ? ""
                                    : "use a cable, or measure this link at the venue at the hour "
                                      "of the show";
  } else {
    row.source = load.what == nullptr ? Joined(ways)
                                      : "speed of " + base::Printable(load.link, 20) +
                                            " unknown: " + load.what->speed_mbps.why_unknown();
    row.how_to_prove = "connect the network as it will be, on the PC itself, and run again";
  }
  rows.push_back(row);
}

std::optional<NetworkCapacity> SpeedCapacity(const probes::NetworkLink& link) {
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

}  // namespace

std::optional<NetworkCapacity> LinkCapacity(const probes::NetworkLink& link,
                                            const probes::NetworkInventory& network) {
  auto own = SpeedCapacity(link);
  if (own || link.lower.size() != 1) {
    return own;  // of several links below, one stream uses one, and nothing tells which
  }
  const probes::NetworkLink* lower = FindNetworkLink(network, link.lower.front());
  auto capacity = lower != nullptr ? SpeedCapacity(*lower) : std::nullopt;
  if (capacity) {
    capacity->source += " of " + base::Printable(lower->name, 20) + " below it";
  }
  return capacity;
}

void NetworkHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  for (const NetworkLoad& load : NetworkLoads(facts.evidence)) {
    AddDirection(facts, load, {"in", load.in_bits_per_second, true}, load.in_lines, rows);
    AddDirection(facts, load, {"out", load.out_bits_per_second, load.abroad}, load.out_lines, rows);
  }
  const StreamDemand streams = SumStreams(facts.evidence);
  if (streams.abroad > 0) {
    Headroom row = NewRow(Resource::kUplink, "", "bits/s");
    row.demand = streams.abroad;
    for (const std::string& name : streams.abroad_names) {
      row.about.push_back(OutputSubject(name));
    }
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
  Headroom row = NewRow(Resource::kDisplays, "", "displays");
  row.demand = facts.demand().displays;
  SetCapacity(row, static_cast<double>(displays.size()), Basis::kRead);
  row.source = fmt::format("available: connectors of the graphics adapters, {} in use now",
                           std::count_if(displays.begin(), displays.end(), [](const auto& d) {
                             return d.connected.value_or(false);
                           }));
  rows.push_back(row);
}

}  // namespace report
