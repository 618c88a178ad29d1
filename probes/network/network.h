// SPDX-License-Identifier: Apache-2.0
//
// Network links: speed, errors, where they hang, which of them leads out.

#pragma once

#include "base/system/machine_root.h"
#include "probes/data/storage_network.h"

namespace probes {

/// Reads /sys/class/net, /proc/net/route and /proc/net/ipv6_route.
NetworkInventory ReadNetwork(const base::MachineRoot& root);

}  // namespace probes
