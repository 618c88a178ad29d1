#include "probes/default_routes.h"

#include <algorithm>
#include <optional>

#include "base/text.h"

namespace probes {
namespace {

// linux/route.h: a route that is up, and one that rejects.
constexpr std::int64_t kRouteUp = 0x0001;
constexpr std::int64_t kRouteReject = 0x0200;

bool IsZero(std::string_view digits) {
  return !digits.empty() &&
         std::all_of(digits.begin(), digits.end(), [](char c) { return c == '0'; });
}

bool Leads(std::string_view flags_hex) {
  const auto flags = base::ParseInt(flags_hex, 16);
  return flags && (*flags & kRouteUp) != 0 && (*flags & kRouteReject) == 0;
}

}  // namespace

std::set<std::string> ParseDefaultRoutes(std::string_view text) {
  std::set<std::string> links;
  for (const std::string_view line : base::Split(text, '\n')) {
    // Iface Destination Gateway Flags RefCnt Use Metric Mask MTU Window IRTT
    const auto words = base::SplitWords(line);
    if (words.size() >= 8 && IsZero(words[1]) && IsZero(words[7]) && Leads(words[3])) {
      links.emplace(words[0]);
    }
  }
  return links;
}

std::set<std::string> ParseDefaultRoutes6(std::string_view text) {
  std::set<std::string> links;
  for (const std::string_view line : base::Split(text, '\n')) {
    // destination length source length next-hop metric references use flags device
    const auto words = base::SplitWords(line);
    if (words.size() == 10 && IsZero(words[0]) && IsZero(words[1]) && Leads(words[8])) {
      links.emplace(words[9]);
    }
  }
  return links;
}

}  // namespace probes
