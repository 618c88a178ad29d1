// SPDX-License-Identifier: Apache-2.0
//
// Routes: RFC 1812 section 5.2.4.3 (longest match), then the metric, as Linux does.

#include "report/loads/network_loads.h"

#include <algorithm>
#include <cstddef>
#include <optional>

#include <fmt/format.h>

#include "base/ip_address.h"
#include "base/text.h"
#include "profiles/demand/stream_url.h"
#include "report/loads/facts.h"

namespace report {
namespace {

using probes::NetworkInventory;
using probes::NetworkRoute;

WayOut ByDefault(const NetworkInventory& network, const std::string& why) {
  const probes::NetworkLink* link = DefaultLink(network);
  return link == nullptr ? WayOut{"", "no link with a default route"} : WayOut{link->name, why};
}

bool Better(const NetworkRoute& one, const NetworkRoute& other) {
  return one.prefix_bits != other.prefix_bits ? one.prefix_bits > other.prefix_bits
                                              : one.metric < other.metric;
}

const NetworkRoute* BestRoute(const std::vector<NetworkRoute>& routes,
                              const base::IpAddress& address) {
  const NetworkRoute* best = nullptr;
  for (const NetworkRoute& route : routes) {
    const auto prefix = base::ParseIpAddress(route.destination);
    if (prefix && base::InPrefix(address, *prefix, route.prefix_bits) &&
        (best == nullptr || Better(route, *best))) {
      best = &route;
    }
  }
  return best;
}

WayOut ByNumber(const NetworkInventory& network, const base::IpAddress& address) {
  if (base::IsLoopback(address)) {
    return {"", "inside this PC", true};
  }
  if (!network.routes.known()) {
    return ByDefault(network, "by default route: routes unknown");
  }
  const NetworkRoute* route = BestRoute(*network.routes, address);
  if (route == nullptr) {
    return {"", "no route leads to " + base::ToText(address)};
  }
  if (route->prefix_bits == 0) {
    return {route->link, "by default route"};
  }
  return {route->link,
          fmt::format("route {}/{}", base::Printable(route->destination, 60), route->prefix_bits)};
}

WayOut ByName(const NetworkInventory& network, const std::string& host) {
  if (host == "localhost") {  // RFC 6761 section 6.3
    return {"", "inside this PC", true};
  }
  const auto asked = std::find_if(network.resolved.begin(), network.resolved.end(),
                                  [&](const auto& one) { return one.host == host; });
  if (asked == network.resolved.end()) {
    return ByDefault(network, "by default route, name not resolved");
  }
  const auto number = asked->address.known() ? base::ParseIpAddress(*asked->address) : std::nullopt;
  if (!number) {
    return ByDefault(network, "by default route, name not resolved: " +
                                  base::Printable(asked->address.why_unknown(), 80));
  }
  WayOut way = ByNumber(network, *number);
  way.why = fmt::format("{}, {}", base::ToText(*number), way.why);
  return way;
}

class Summing {
 public:
  explicit Summing(const NetworkInventory& network) : network_(network) {}

  NetworkLoad& On(const std::string& link) {
    const auto found = std::find_if(loads_.begin(), loads_.end(),
                                    [&](const NetworkLoad& load) { return load.link == link; });
    if (found != loads_.end()) {
      return *found;
    }
    NetworkLoad load;
    load.link = link;
    load.what = FindNetworkLink(network_, link);
    loads_.push_back(std::move(load));
    return loads_.back();
  }

  std::vector<NetworkLoad> Take() { return std::move(loads_); }

 private:
  const NetworkInventory& network_;
  std::vector<NetworkLoad> loads_;
};

WayOut WayOfSource(const NetworkInventory& network, const profiles::Source& source) {
  if (FindNetworkLink(network, source.device) != nullptr) {
    return {source.device, "the link that the profile names"};
  }
  if (base::ParseIpAddress(source.device)) {
    return WayTo(network, source.device);
  }
  return ByDefault(network, "by default route");
}

void AddSources(const Evidence& evidence, Summing& sums) {
  for (std::size_t i = 0; i < evidence.profile.sources.size(); ++i) {
    const profiles::Source& source = evidence.profile.sources[i];
    if (source.arrives_by != profiles::ArrivesBy::kNetwork || i >= evidence.demand.sources.size()) {
      continue;
    }
    const WayOut way = WayOfSource(evidence.inventory.network, source);
    if (way.inside) {
      continue;
    }
    NetworkLoad& load = sums.On(way.link);
    load.in_bits_per_second += evidence.demand.sources[i].network_bits_per_second;
    load.in_lines.push_back(base::Printable(source.name) + ": " + way.why);
  }
}

void AddStreams(const Evidence& evidence, Summing& sums) {
  for (std::size_t i = 0; i < evidence.profile.outputs.size(); ++i) {
    const profiles::Output& output = evidence.profile.outputs[i];
    if (output.kind != profiles::OutputKind::kStream || i >= evidence.demand.outputs.size()) {
      continue;
    }
    const std::string host = profiles::HostOf(output.url);
    const WayOut way = WayTo(evidence.inventory.network, host);
    if (way.inside) {
      continue;
    }
    NetworkLoad& load = sums.On(way.link);
    load.out_bits_per_second += evidence.demand.outputs[i].network_bits_per_second;
    load.abroad = load.abroad || !host.empty();
    load.out_lines.push_back(fmt::format("{}{}: {}", base::Printable(output.name),
                                         host.empty() ? "" : " to " + base::Printable(host, 80),
                                         way.why));
  }
}

}  // namespace

const probes::NetworkLink* FindNetworkLink(const NetworkInventory& network,
                                           const std::string& name) {
  const auto found = std::find_if(network.links.begin(), network.links.end(),
                                  [&](const auto& link) { return link.name == name; });
  return found == network.links.end() || name.empty() ? nullptr : &*found;
}

WayOut WayTo(const NetworkInventory& network, const std::string& host) {
  if (host.empty()) {
    return ByDefault(network, "by default route");
  }
  const auto number = base::ParseIpAddress(host);
  return number ? ByNumber(network, *number) : ByName(network, host);
}

std::vector<NetworkLoad> NetworkLoads(const Evidence& evidence) {
  Summing sums(evidence.inventory.network);
  AddSources(evidence, sums);
  AddStreams(evidence, sums);
  return sums.Take();
}

}  // namespace report
