// SPDX-License-Identifier: Apache-2.0

#include "base/ip_address.h"

#include <algorithm>

#include <boost/asio/ip/address.hpp>

namespace base {
namespace {

namespace ip = boost::asio::ip;

struct Prefix {
  const char* address;
  int bits;
};

constexpr std::array kOfNoPlace{
    Prefix{"10.0.0.0", 8},    Prefix{"172.16.0.0", 12},  Prefix{"192.168.0.0", 16},
    Prefix{"100.64.0.0", 10}, Prefix{"169.254.0.0", 16}, Prefix{"127.0.0.0", 8},
    Prefix{"224.0.0.0", 4},   Prefix{"fc00::", 7},       Prefix{"fe80::", 10},
    Prefix{"ff00::", 8},
};

}  // namespace

std::optional<IpAddress> ParseIpAddress(std::string_view text) {
  if (text.starts_with('[') && text.ends_with(']')) {
    text = text.substr(1, text.size() - 2);
  }
  boost::system::error_code failed;
  const ip::address parsed = ip::make_address(std::string(text), failed);
  if (failed) {
    return std::nullopt;
  }
  IpAddress address;
  address.v6 = parsed.is_v6();
  if (address.v6) {
    const auto bytes = parsed.to_v6().to_bytes();
    std::copy(bytes.begin(), bytes.end(), address.bytes.begin());
  } else {
    const auto bytes = parsed.to_v4().to_bytes();
    std::copy(bytes.begin(), bytes.end(), address.bytes.begin());
  }
  return address;
}

std::string ToText(const IpAddress& address) {
  if (address.v6) {
    ip::address_v6::bytes_type bytes{};
    std::copy(address.bytes.begin(), address.bytes.end(), bytes.begin());
    return ip::address_v6(bytes).to_string();
  }
  ip::address_v4::bytes_type bytes{};
  std::copy_n(address.bytes.begin(), bytes.size(), bytes.begin());
  return ip::address_v4(bytes).to_string();
}

bool InPrefix(const IpAddress& address, const IpAddress& prefix, int bits) {
  const int most = prefix.v6 ? 128 : 32;
  if (address.v6 != prefix.v6 || bits < 0 || bits > most) {
    return false;
  }
  for (int bit = 0; bit < bits; ++bit) {
    const auto at = static_cast<std::size_t>(bit / 8);
    const int mask = 0x80 >> (bit % 8);
    if ((address.bytes[at] & mask) != (prefix.bytes[at] & mask)) {
      return false;
    }
  }
  return true;
}

bool IsLoopback(const IpAddress& address) {
  return InPrefix(address, *ParseIpAddress("127.0.0.0"), 8) || address == *ParseIpAddress("::1");
}

bool IsOfNoPlace(const IpAddress& address) {
  return std::any_of(kOfNoPlace.begin(), kOfNoPlace.end(), [&](const Prefix& prefix) {
    return InPrefix(address, *ParseIpAddress(prefix.address), prefix.bits);
  });
}

}  // namespace base
