// SPDX-License-Identifier: Apache-2.0
//
// Addresses in texts that leave a machine: of networks, of mail, and URLs.

#pragma once

#include <string>
#include <string_view>

namespace probes {

/// `text` with "address" in place of every IPv4 and IPv6 address, URL and mail address, and of what
/// looks like one: names of units such as "getty@tty1.service" are none.
std::string WithoutAddresses(std::string_view text);

}  // namespace probes
