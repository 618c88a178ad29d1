// SPDX-License-Identifier: Apache-2.0

#include "base/text.h"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

namespace base {
namespace {

bool IsSpace(char c) {
  return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\v' || c == '\f';
}

/// Length of the UTF-8 sequence at the start of `text` and its code point; 0
/// when the bytes are not well-formed (RFC 3629: no overlong forms, no
/// surrogates, nothing above U+10FFFF).
std::size_t DecodeUtf8(std::string_view text, char32_t& code) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(0);
  if (first < 0x80) {
    code = first;
    return 1;
  }
  const std::size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (first < 0xC2 || first > 0xF4 || text.size() < length) {
    return 0;
  }
  code = first & (0xFFU >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) {
      return 0;
    }
    code = (code << 6U) | (byte(i) & 0x3FU);
  }
  const bool overlong = (length == 3 && code < 0x800) || (length == 4 && code < 0x10000);
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  return overlong || surrogate || code > 0x10FFFF ? 0 : length;
}

/// Characters that move the cursor, hide text or turn its direction.
bool Unprintable(char32_t code) {
  return code < 0x20 || (code >= 0x7F && code <= 0x9F) || (code >= 0x200B && code <= 0x200F) ||
         (code >= 0x2028 && code <= 0x202E) || (code >= 0x2060 && code <= 0x206F) ||
         code == 0xFEFF || (code >= 0xFFF9 && code <= 0xFFFB) || code == 0x061C;
}

std::size_t EditDistance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t substituted = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = row[j];
      row[j] = std::min({row[j] + 1, row[j - 1] + 1, substituted});
    }
  }
  return row[b.size()];
}

/// Three significant digits and the decimal prefix that keeps them short.
std::string Scaled(double value, std::string_view unit) {
  static constexpr const char* kPrefixes[] = {"", "k", "M", "G", "T", "P"};
  std::size_t prefix = 0;
  double scaled = value;
  while (std::abs(scaled) >= 999.5 && prefix + 1 < std::size(kPrefixes)) {
    scaled /= 1000;
    ++prefix;
  }
  const double size = std::abs(scaled);
  const int decimals = prefix == 0 || size >= 99.95 ? 0 : size >= 9.995 ? 1 : 2;
  return fmt::format("{:.{}f} {}{}", scaled, decimals, kPrefixes[prefix], unit);
}

}  // namespace

std::string_view Trim(std::string_view text) {
  while (!text.empty() && IsSpace(text.front())) {
    text.remove_prefix(1);
  }
  while (!text.empty() && IsSpace(text.back())) {
    text.remove_suffix(1);
  }
  return text;
}

std::vector<std::string_view> Split(std::string_view text, char separator) {
  std::vector<std::string_view> parts;
  for (std::size_t at = 0;;) {
    const std::size_t next = text.find(separator, at);
    parts.push_back(text.substr(at, next == std::string_view::npos ? next : next - at));
    if (next == std::string_view::npos) {
      return parts;
    }
    at = next + 1;
  }
}

std::vector<std::string_view> SplitWords(std::string_view text) {
  std::vector<std::string_view> words;
  std::size_t at = 0;
  while (at < text.size()) {
    if (IsSpace(text[at])) {
      ++at;
      continue;
    }
    std::size_t end = at;
    while (end < text.size() && !IsSpace(text[end])) {
      ++end;
    }
    words.push_back(text.substr(at, end - at));
    at = end;
  }
  return words;
}

std::optional<std::int64_t> ParseInt(std::string_view text, int base) {
  if (base == 16 && (text.starts_with("0x") || text.starts_with("0X"))) {
    text.remove_prefix(2);
    if (text.starts_with('-')) {
      return std::nullopt;
    }
  }
  std::int64_t value = 0;
  const char* const end = text.data() + text.size();
  const auto [stop, errc] = std::from_chars(text.data(), end, value, base);
  if (errc != std::errc() || stop != end || text.empty()) {
    return std::nullopt;
  }
  return value;
}

std::optional<double> ParseDouble(std::string_view text) {
  double value = 0;
  const char* const end = text.data() + text.size();
  const auto [stop, errc] = std::from_chars(text.data(), end, value);
  if (errc != std::errc() || stop != end || text.empty() || !std::isfinite(value)) {
    return std::nullopt;
  }
  return value;
}

std::string Printable(std::string_view text, std::size_t max_bytes) {
  const bool plain = text.size() <= max_bytes && std::all_of(text.begin(), text.end(), [](char c) {
                       return c >= 0x20 && c < 0x7F;
                     });
  if (plain) {
    return std::string(text);
  }
  std::string safe;
  while (!text.empty()) {
    char32_t code = 0;
    const std::size_t length = DecodeUtf8(text, code);
    std::string piece;
    if (length == 0) {
      piece = fmt::format("\\x{:02X}", static_cast<unsigned char>(text.front()));
    } else if (Unprintable(code)) {
      piece = code < 0x80 ? fmt::format("\\x{:02X}", static_cast<unsigned>(code))
                          : fmt::format("\\u{{{:X}}}", static_cast<unsigned>(code));
    } else {
      piece = std::string(text.substr(0, length));
    }
    if (safe.size() + piece.size() > max_bytes) {
      return safe + "...";
    }
    safe += piece;
    text.remove_prefix(std::max<std::size_t>(length, 1));
  }
  return safe;
}

std::optional<std::string> NearestWord(std::string_view word,
                                       const std::vector<std::string>& candidates) {
  constexpr std::size_t kLongestCompared = 64;
  const std::string_view compared = word.substr(0, kLongestCompared);
  const std::size_t limit = std::max<std::size_t>(2, compared.size() / 3);
  std::optional<std::string> nearest;
  std::size_t shortest = limit + 1;
  for (const std::string& candidate : candidates) {
    const std::size_t distance = EditDistance(compared, candidate);
    if (distance < shortest) {
      shortest = distance;
      nearest = candidate;
    }
  }
  return nearest;
}

std::string FormatBytes(double bytes) {
  return Scaled(bytes, "B");
}

std::string FormatBytesPerSecond(double bytes_per_second) {
  return Scaled(bytes_per_second, "B/s");
}

std::string FormatBitsPerSecond(double bits_per_second) {
  return Scaled(bits_per_second, "b/s");
}

std::string FormatSeconds(double seconds) {
  if (seconds < 10) {
    return fmt::format("{:.1f} s", seconds);
  }
  const auto whole = static_cast<std::int64_t>(std::llround(seconds));
  if (whole < 60) {
    return fmt::format("{} s", whole);
  }
  if (whole < 3600) {
    return whole % 60 == 0 ? fmt::format("{} min", whole / 60)
                           : fmt::format("{} min {} s", whole / 60, whole % 60);
  }
  const std::int64_t minutes = (whole + 30) / 60;
  return minutes % 60 == 0 ? fmt::format("{} h", minutes / 60)
                           : fmt::format("{} h {} min", minutes / 60, minutes % 60);
}

}  // namespace base
