// SPDX-License-Identifier: Apache-2.0
//
// What a network link carries, from its negotiated speed.

#pragma once

#include <optional>
#include <string>

#include "probes/data/storage_network.h"
#include "report/data/document.h"

namespace report {

struct NetworkCapacity {
  double bits_per_second = 0;  // on the wire, one direction
  Basis basis = Basis::kComputed;
  std::string source;
};

/// Nothing when the link's speed is unknown; of a bridge, bond or VLAN without a speed of its own
/// that of the one link below it.
std::optional<NetworkCapacity> LinkCapacity(const probes::NetworkLink& link,
                                            const probes::NetworkInventory& network);

}  // namespace report
