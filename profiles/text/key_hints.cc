// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/key_hints.h"

#include <algorithm>
#include <array>
#include <optional>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/stream_url.h"

namespace profiles {
namespace {

constexpr std::array<std::string_view, 30> kUnits{
    "kbps",   "mbps",   "gbps", "bps",     "kbit",    "mbit",  "kbits",    "mbits",
    "bytes",  "s",      "sec",  "seconds", "min",     "mins",  "minutes",  "minute",
    "h",      "hours",  "hz",   "khz",     "percent", "ratio", "fraction", "per_hour",
    "metres", "meters", "m",    "feet",    "ft",      "baud"};

struct StemAndUnit {
  std::string_view stem;
  std::string_view unit;  // empty: the key has none
};

StemAndUnit Divide(std::string_view key) {
  for (const std::string_view unit : kUnits) {
    if (key.size() > unit.size() + 1 && key.ends_with(unit) &&
        key[key.size() - unit.size() - 1] == '_') {
      return {key.substr(0, key.size() - unit.size() - 1), unit};
    }
  }
  return {key, ""};
}

std::optional<std::string> SameWithOtherUnit(std::string_view key,
                                             const std::vector<std::string>& known) {
  const StemAndUnit asked = Divide(key);
  for (const std::string& candidate : known) {
    const StemAndUnit wanted = Divide(candidate);
    if (!wanted.unit.empty() && wanted.stem == asked.stem && wanted.unit != asked.unit) {
      return candidate;
    }
  }
  return std::nullopt;
}

}  // namespace

std::string QuotedList(const std::vector<std::string>& words) {
  std::string list;
  for (const std::string& word : words) {
    list += fmt::format("{}\"{}\"", list.empty() ? "" : ", ", word);
  }
  return list;
}

std::optional<std::string> MeantKey(std::string_view key, const std::vector<std::string>& known) {
  if (auto other = SameWithOtherUnit(key, known)) {
    return other;
  }
  std::string stem(Divide(key).stem);
  if (stem != key && std::find(known.begin(), known.end(), stem) != known.end()) {
    return stem;
  }
  return base::NearestWord(key, known);
}

std::string UnknownKeyHint(std::string_view key, const std::vector<std::string>& known) {
  const std::string shown = base::Printable(WithMaskedUrls(key), 60);
  if (const auto other = SameWithOtherUnit(key, known)) {
    return fmt::format("unknown key \"{}\"; the unit wanted is {}: write \"{}\"", shown,
                       Divide(*other).unit, *other);
  }
  const std::string stem(Divide(key).stem);
  if (stem != key && std::find(known.begin(), known.end(), stem) != known.end()) {
    return fmt::format("unknown key \"{}\"; write \"{}\", without a unit", shown, stem);
  }
  if (const auto nearest = base::NearestWord(key, known)) {
    return fmt::format("unknown key \"{}\"; the nearest known key is \"{}\"", shown, *nearest);
  }
  return fmt::format("unknown key \"{}\"; allowed: {}", shown, QuotedList(known));
}

}  // namespace profiles
