// SPDX-License-Identifier: Apache-2.0
//
// IP addresses as numbers: reading, writing, and which prefix they lie in.

#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace base {

/// IPv4 fills the first four bytes. Network order.
struct IpAddress {
  bool v6 = false;
  std::array<std::uint8_t, 16> bytes{};

  bool operator==(const IpAddress&) const = default;
};

/// "192.0.2.1", "2001:db8::1", "[2001:db8::1]"; nothing for names and anything else.
std::optional<IpAddress> ParseIpAddress(std::string_view text);

/// "192.0.2.1", "2001:db8::1".
std::string ToText(const IpAddress& address);

/// Whether both are of one kind and agree in their first `bits` bits.
bool InPrefix(const IpAddress& address, const IpAddress& prefix, int bits);

/// 127.0.0.0/8 and ::1 (RFC 1122 section 3.2.1.3, RFC 4291 section 2.5.3).
bool IsLoopback(const IpAddress& address);

/// Addresses that say nothing of where a PC is: private (RFC 1918, RFC 4193),
/// shared (RFC 6598), of one link (RFC 3927, RFC 4291) and of groups.
bool IsOfNoPlace(const IpAddress& address);

}  // namespace base
