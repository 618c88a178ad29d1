// SPDX-License-Identifier: Apache-2.0
//
// Which links lead to everywhere else.

#pragma once

#include <set>
#include <string>
#include <string_view>

namespace probes {

/// Links with a default route in the text of /proc/net/route (IPv4).
std::set<std::string> ParseDefaultRoutes(std::string_view text);

/// Links with a default route in the text of /proc/net/ipv6_route. The
/// kernel's own "unreachable" entries on the loopback are none.
std::set<std::string> ParseDefaultRoutes6(std::string_view text);

}  // namespace probes
