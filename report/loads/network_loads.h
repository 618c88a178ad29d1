// SPDX-License-Identifier: Apache-2.0
//
// Which network link each stream leaves by and each source comes in by.

#pragma once

#include <string>
#include <vector>

#include "report/data/document.h"

namespace report {

/// The link to a host, by the routes of the machine.
struct WayOut {
  std::string link;     // empty: no link leads there
  std::string why;      // "route 192.0.2.0/24", "by default route, name not resolved"
  bool inside = false;  // it never leaves this PC
};

/// `host`: a number, a name, or empty for what goes out by default. The longest
/// matching prefix wins, then the lowest metric. Names count as the number that
/// the resolver gave when it was asked, else as the default route.
WayOut WayTo(const probes::NetworkInventory& network, const std::string& host);

/// What one link carries, bits/s on the wire.
struct NetworkLoad {
  std::string link;                           // empty: no way is known
  const probes::NetworkLink* what = nullptr;  // null: not among the links
  double in_bits_per_second = 0;
  double out_bits_per_second = 0;
  bool abroad = false;                 // some stream goes to an address of the user's own
  std::vector<std::string> in_lines;   // "Far: by default route"
  std::vector<std::string> out_lines;  // "Air to 192.0.2.1: route 192.0.2.0/24"
};

/// Streams and network sources, summed by link; streams to the program's own
/// sink count where they will go: by the default route. A source comes in by
/// the link, or from the number, that its `device` names. Borrows the evidence.
std::vector<NetworkLoad> NetworkLoads(const Evidence& evidence);

/// The link of that name, or null.
const probes::NetworkLink* FindNetworkLink(const probes::NetworkInventory& network,
                                           const std::string& name);

}  // namespace report
