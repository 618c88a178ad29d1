// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/private_addresses.h"

#include <algorithm>
#include <array>
#include <cctype>

#include "base/ip_address.h"
#include "base/text.h"

namespace probes {
namespace {

constexpr std::string_view kStandIn = "address";

bool IsLetterOrDigit(char c) {
  return std::isalnum(static_cast<unsigned char>(c)) != 0;
}

bool IsHex(char c) {
  return std::isxdigit(static_cast<unsigned char>(c)) != 0;
}

bool IsDigit(char c) {
  return c >= '0' && c <= '9';
}

bool OfMailName(char c) {
  static constexpr std::string_view kMarks = "._%+-";
  return IsLetterOrDigit(c) || kMarks.find(c) != std::string_view::npos;
}

bool OfHost(char c) {
  return IsLetterOrDigit(c) || c == '.' || c == '-';
}

/// Where the characters that `of` takes begin that end before `at`.
template <typename Of>
std::size_t BeginOf(std::string_view text, std::size_t at, Of of) {
  while (at > 0 && of(text[at - 1])) {
    --at;
  }
  return at;
}

template <typename Of>
std::size_t EndOf(std::string_view text, std::size_t at, Of of) {
  while (at < text.size() && of(text[at])) {
    ++at;
  }
  return at;
}

/// Everything up to the next space or quotation mark: names and keys stand anywhere in a URL.
std::string WithoutUrls(std::string_view text) {
  std::string clean;
  for (;;) {
    const std::size_t separator = text.find("://");
    if (separator == std::string_view::npos) {
      return clean += text;
    }
    const auto of_scheme = [](char c) { return IsLetterOrDigit(c) || c == '+' || c == '.'; };
    clean += text.substr(0, BeginOf(text, separator, of_scheme));
    clean += kStandIn;
    text.remove_prefix(std::min(text.find_first_of(" \t\r\n\"'<>", separator), text.size()));
  }
}

/// systemd.unit(5): "NAME@INSTANCE.service" is an instance of a unit; hexadecimal digits alone are
/// a device's place on its bus.
bool IsNoMailHost(std::string_view host) {
  static constexpr auto kUnits =
      std::to_array<std::string_view>({".service", ".socket", ".device", ".mount", ".automount",
                                       ".swap", ".target", ".path", ".timer", ".slice", ".scope"});
  return std::all_of(host.begin(), host.end(), IsHex) ||
         std::any_of(kUnits.begin(), kUnits.end(),
                     [&](std::string_view unit) { return host.ends_with(unit); });
}

std::string WithoutMail(std::string_view text) {
  std::string clean;
  for (;;) {
    const std::size_t mark = text.find('@');
    if (mark == std::string_view::npos) {
      return clean += text;
    }
    const std::size_t begin = BeginOf(text, mark, OfMailName);
    const std::size_t end = EndOf(text, mark + 1, OfHost);
    if (begin == mark || IsNoMailHost(text.substr(mark + 1, end - mark - 1))) {
      clean += text.substr(0, mark + 1);
      text.remove_prefix(mark + 1);
    } else {
      clean += text.substr(0, begin);
      clean += kStandIn;
      text.remove_prefix(end);
    }
  }
}

bool IsVersion4(std::string_view word) {
  const auto parts = base::Split(word, '.');
  return parts.size() == 4 && std::all_of(parts.begin(), parts.end(), [](std::string_view part) {
           const auto number = part.size() <= 3 ? base::ParseInt(part) : std::nullopt;
           return number && *number >= 0 && *number <= 255;
         });
}

bool IsVersion6(std::string_view word) {
  return std::count(word.begin(), word.end(), ':') >= 2 &&
         std::any_of(word.begin(), word.end(), IsHex) && base::ParseIpAddress(word).has_value();
}

/// Words of the characters that `of` takes, with no letter beside them.
template <typename Of, typename Is>
std::string WithoutWords(std::string_view text, Of of, Is is) {
  std::string clean;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = EndOf(text, at, of);
    std::string_view word = text.substr(at, end - at);
    // The full stop or the colon behind it is the sentence's.
    while (!word.empty() && (word.back() == '.' || (word.back() == ':' && !word.ends_with("::")))) {
      word.remove_suffix(1);
    }
    const bool alone = (at == 0 || !IsLetterOrDigit(text[at - 1])) &&
                       (end == text.size() || !IsLetterOrDigit(text[end]));
    if (!word.empty() && alone && is(word)) {
      clean += kStandIn;
      at += word.size();
    } else {
      const std::size_t next = std::min(std::max(end, at + 1), text.size());
      clean += text.substr(at, next - at);
      at = next;
    }
  }
  return clean;
}

}  // namespace

std::string WithoutAddresses(std::string_view text) {
  const std::string no_names = WithoutMail(WithoutUrls(text));
  const std::string no_six = WithoutWords(
      no_names, [](char c) { return IsHex(c) || c == ':' || c == '.'; }, IsVersion6);
  return WithoutWords(
      no_six, [](char c) { return IsDigit(c) || c == '.'; }, IsVersion4);
}

}  // namespace probes
