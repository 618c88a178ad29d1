// SPDX-License-Identifier: Apache-2.0
//
// The routing tables of the kernel, as far as they lead out of the PC.

#pragma once

#include <string_view>
#include <vector>

#include "base/reading.h"
#include "base/system/machine_root.h"
#include "probes/data/storage_network.h"

namespace probes {

/// Routes of /proc/net/route (IPv4) that are up and do not reject.
std::vector<NetworkRoute> ParseRoutes(std::string_view text);

/// Routes of /proc/net/ipv6_route, without those of the PC's own addresses,
/// of single links (fe80::/10), of groups (ff00::/8) and of the loopback.
std::vector<NetworkRoute> ParseRoutes6(std::string_view text);

/// Both; unknown when neither can be read.
base::Reading<std::vector<NetworkRoute>> ReadRoutes(const base::MachineRoot& root);

}  // namespace probes
