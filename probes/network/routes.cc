// SPDX-License-Identifier: Apache-2.0

#include "probes/network/routes.h"

#include <algorithm>
#include <cstdint>
#include <optional>
#include <string>

#include "base/ip_address.h"
#include "base/text.h"

namespace probes {
namespace {

// linux/route.h, linux/ipv6_route.h.
constexpr std::int64_t kUp = 0x0001;
constexpr std::int64_t kReject = 0x0200;
constexpr std::int64_t kLocal = 0x80000000;

constexpr std::size_t kMostTextBytes = 16 << 20;
constexpr std::size_t kMostRoutes = 4096;  // a router's full table says nothing of a show

bool Leads(std::string_view flags_hex) {
  const auto flags = base::ParseInt(flags_hex, 16);
  return flags && (*flags & kUp) != 0 && (*flags & (kReject | kLocal)) == 0;
}

int Metric(std::string_view text, int number_base) {
  const std::int64_t metric = base::ParseInt(text, number_base).value_or(INT32_MAX);
  return static_cast<int>(std::clamp<std::int64_t>(metric, 0, INT32_MAX));
}

/// The kernel prints the four bytes as one number of this machine's order: the
/// machines that this is for put the least byte first, "0000A8C0" is 192.168.0.0.
std::optional<base::IpAddress> AddressOfWord(std::string_view hex) {
  const auto word = hex.size() == 8 ? base::ParseInt(hex, 16) : std::nullopt;
  if (!word || *word < 0) {
    return std::nullopt;
  }
  base::IpAddress address;
  for (std::size_t i = 0; i < 4; ++i) {
    address.bytes[i] = static_cast<std::uint8_t>((*word >> (8 * i)) & 0xff);
  }
  return address;
}

/// Bits set from the front; nothing for a mask with holes.
std::optional<int> PrefixBits(const base::IpAddress& mask) {
  int bits = 0;
  bool ended = false;
  for (int bit = 0; bit < 32; ++bit) {
    const bool set = (mask.bytes[static_cast<std::size_t>(bit / 8)] & (0x80 >> (bit % 8))) != 0;
    if (set && ended) {
      return std::nullopt;
    }
    ended = ended || !set;
    bits += set ? 1 : 0;
  }
  return bits;
}

std::optional<base::IpAddress> AddressOfDigits(std::string_view hex) {
  if (hex.size() != 32) {
    return std::nullopt;
  }
  base::IpAddress address;
  address.v6 = true;
  for (std::size_t i = 0; i < 16; ++i) {
    const auto byte = base::ParseInt(hex.substr(2 * i, 2), 16);
    if (!byte || *byte < 0) {
      return std::nullopt;
    }
    address.bytes[i] = static_cast<std::uint8_t>(*byte);
  }
  return address;
}

bool OfOneLinkOrGroup(const base::IpAddress& address) {
  return base::InPrefix(address, *base::ParseIpAddress("fe80::"), 10) ||
         base::InPrefix(address, *base::ParseIpAddress("ff00::"), 8);
}

}  // namespace

std::vector<NetworkRoute> ParseRoutes(std::string_view text) {
  std::vector<NetworkRoute> routes;
  for (const std::string_view line : base::Split(text, '\n')) {
    // Iface Destination Gateway Flags RefCnt Use Metric Mask MTU Window IRTT
    const auto words = base::SplitWords(line);
    if (words.size() < 8 || !Leads(words[3]) || routes.size() >= kMostRoutes) {
      continue;
    }
    const auto destination = AddressOfWord(words[1]);
    const auto mask = AddressOfWord(words[7]);
    const auto bits = mask ? PrefixBits(*mask) : std::nullopt;
    if (destination && bits && words[0] != "lo") {
      routes.push_back(
          {base::ToText(*destination), *bits, Metric(words[6], 10), base::Printable(words[0], 60)});
    }
  }
  return routes;
}

std::vector<NetworkRoute> ParseRoutes6(std::string_view text) {
  std::vector<NetworkRoute> routes;
  for (const std::string_view line : base::Split(text, '\n')) {
    // destination length source length next-hop metric references use flags device
    const auto words = base::SplitWords(line);
    if (words.size() != 10 || !Leads(words[8]) || words[9] == "lo" ||
        routes.size() >= kMostRoutes) {
      continue;
    }
    const auto destination = AddressOfDigits(words[0]);
    const auto bits = base::ParseInt(words[1], 16);
    if (destination && bits && *bits >= 0 && *bits <= 128 && !OfOneLinkOrGroup(*destination)) {
      routes.push_back({base::ToText(*destination), static_cast<int>(*bits), Metric(words[5], 16),
                        base::Printable(words[9], 60)});
    }
  }
  return routes;
}

base::Reading<std::vector<NetworkRoute>> ReadRoutes(const base::MachineRoot& root) {
  const auto text = root.Read("/proc/net/route", kMostTextBytes);
  const auto text6 = root.Read("/proc/net/ipv6_route", kMostTextBytes);
  if (!text && !text6) {
    return base::Result<std::vector<NetworkRoute>>(text.error());
  }
  std::vector<NetworkRoute> routes = ParseRoutes(text.value_or(""));
  std::vector<NetworkRoute> routes6 = ParseRoutes6(text6.value_or(""));
  routes.insert(routes.end(), routes6.begin(), routes6.end());
  return routes;
}

}  // namespace probes
