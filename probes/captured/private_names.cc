// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/private_names.h"

#include <algorithm>
#include <cctype>
#include <optional>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::size_t kAddressDigits = 12;
constexpr std::size_t kUuidLength = 36;

char Small(char c) {
  return static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
}

std::string Small(std::string_view text) {
  std::string small(text);
  std::transform(small.begin(), small.end(), small.begin(), [](char c) { return Small(c); });
  return small;
}

bool IsHex(char c) {
  return std::isxdigit(static_cast<unsigned char>(c)) != 0;
}

bool IsWordPart(char c) {
  return std::isalnum(static_cast<unsigned char>(c)) != 0;
}

/// The 12 digits of "00:11:22:33:44:55" (or with '-') at `at`; nothing when
/// there is no such thing, or more digits or groups beside it.
std::optional<std::string> AddressAt(std::string_view text, std::size_t at) {
  constexpr std::size_t kLength = 17;
  if (at + kLength > text.size() || (at > 0 && (IsHex(text[at - 1]) || text[at - 1] == ':'))) {
    return std::nullopt;
  }
  const char separator = text[at + 2];
  if (separator != ':' && separator != '-') {
    return std::nullopt;
  }
  std::string digits;
  for (std::size_t i = 0; i < kLength; ++i) {
    const char c = text[at + i];
    if (i % 3 == 2 ? c != separator : !IsHex(c)) {
      return std::nullopt;
    }
    if (i % 3 != 2) {
      digits += c;
    }
  }
  const char next = at + kLength < text.size() ? text[at + kLength] : ' ';
  return IsHex(next) || next == ':' ? std::nullopt : std::optional(digits);
}

/// The 12 digits after "enx" at `at`: how systems name links by their address.
std::optional<std::string> LinkNameAt(std::string_view text, std::size_t at) {
  static constexpr std::string_view kPrefix = "enx";
  const std::string_view rest = text.substr(at);
  if (!rest.starts_with(kPrefix) || (at > 0 && IsWordPart(text[at - 1])) ||
      rest.size() < kPrefix.size() + kAddressDigits) {
    return std::nullopt;
  }
  const std::string_view digits = rest.substr(kPrefix.size(), kAddressDigits);
  return std::all_of(digits.begin(), digits.end(), IsHex) ? std::optional(std::string(digits))
                                                          : std::nullopt;
}

/// Whether a UUID stands at `at`, with no digit or hyphen beside it.
bool IsUuidAt(std::string_view text, std::size_t at) {
  const auto beside = [&](std::size_t place) { return IsHex(text[place]) || text[place] == '-'; };
  if (at + kUuidLength > text.size() || (at > 0 && IsHex(text[at - 1])) ||
      (at + kUuidLength < text.size() && beside(at + kUuidLength))) {
    return false;
  }
  for (std::size_t i = 0; i < kUuidLength; ++i) {
    const bool hyphen = i == 8 || i == 13 || i == 18 || i == 23;
    if (hyphen ? text[at + i] != '-' : !IsHex(text[at + i])) {
      return false;
    }
  }
  return true;
}

std::string Doubled(const std::string& text, char c) {
  std::string doubled;
  for (const char each : text) {
    doubled += each == c ? std::string(2, c) : std::string(1, each);
  }
  return doubled;
}

}  // namespace

PrivateNames::PrivateNames(const std::vector<std::string>& hosts,
                           const std::vector<std::string>& users) {
  for (const std::string& host : hosts) {
    AddWord(host, "host");
    AddWord(host.substr(0, host.find('.')), "host");
    AddWord(Doubled(host, '-'), "host");  // how LVM writes it inside a volume's name
  }
  for (const std::string& user : users) {
    AddWord(user, "user");
  }
  std::stable_sort(words_.begin(), words_.end(),
                   [](const Word& a, const Word& b) { return a.text.size() > b.text.size(); });
}

void PrivateNames::AddWord(const std::string& text, const char* stand_in) {
  const std::string small = Small(text);
  if (small.size() >= 2 && small != "root" && small != "localhost") {
    words_.push_back({small, stand_in});
  }
}

std::string PrivateNames::StandIn(const std::string& digits) {
  const std::string key = Small(digits);
  const auto next = addresses_.size() + 1;
  // 02 marks an address as made up by whoever runs the network (IEEE 802, local bit).
  return addresses_.try_emplace(key, fmt::format("02{:010x}", next)).first->second;
}

std::string PrivateNames::CleanAddresses(std::string_view text) {
  std::string clean;
  for (std::size_t at = 0; at < text.size();) {
    if (const auto digits = AddressAt(text, at)) {
      const std::string other = StandIn(*digits);
      for (std::size_t i = 0; i < kAddressDigits; i += 2) {
        clean += (i == 0 ? "" : std::string(1, text[at + 2])) + other.substr(i, 2);
      }
      at += 17;
    } else if (const auto name_digits = LinkNameAt(text, at)) {
      clean += "enx" + StandIn(*name_digits);
      at += 3 + kAddressDigits;
    } else {
      clean += text[at++];
    }
  }
  return clean;
}

std::string PrivateNames::CleanUuids(std::string_view text) {
  std::string clean;
  for (std::size_t at = 0; at < text.size();) {
    if (!IsUuidAt(text, at)) {
      clean += text[at++];
      continue;
    }
    const auto next = uuids_.size() + 1;
    clean += uuids_
                 .try_emplace(Small(text.substr(at, kUuidLength)),
                              fmt::format("00000000-0000-4000-8000-{:012x}", next))
                 .first->second;
    at += kUuidLength;
  }
  return clean;
}

std::string PrivateNames::Clean(std::string_view text) {
  std::string clean = CleanUuids(CleanAddresses(text));
  for (const Word& word : words_) {
    std::string small = Small(clean);
    for (std::size_t at = small.find(word.text); at != std::string::npos;
         at = small.find(word.text, at)) {
      const std::size_t end = at + word.text.size();
      const bool whole = (at == 0 || !IsWordPart(clean[at - 1])) &&
                         (end == clean.size() || !IsWordPart(clean[end]));
      if (!whole) {
        ++at;
        continue;
      }
      clean.replace(at, word.text.size(), word.stand_in);
      small.replace(at, word.text.size(), word.stand_in);
      at += std::string_view(word.stand_in).size();
      ++names_replaced_;
    }
  }
  return clean;
}

std::vector<std::string> ParsePeople(std::string_view passwd_text) {
  std::vector<std::string> people;
  for (const std::string_view line : base::Split(passwd_text, '\n')) {
    const auto fields = base::Split(line, ':');
    const auto number = fields.size() >= 3 ? base::ParseInt(fields[2]) : std::nullopt;
    if (number && *number >= 1000 && *number < 60000 && !fields[0].empty()) {
      people.emplace_back(fields[0]);
      // The full name is what stands before the first comma (passwd(5): the comment field).
      const std::string_view full =
          fields.size() >= 5 ? base::Trim(base::Split(fields[4], ',')[0]) : std::string_view();
      if (!full.empty() && full != fields[0]) {
        people.emplace_back(full);
      }
    }
  }
  return people;
}

}  // namespace probes
