// SPDX-License-Identifier: Apache-2.0
//
// Lines and words of the kernel's texts, one after the other and without memory of their own: these
// texts are read many times a second.

#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

#include "base/text.h"

namespace probes {

/// Takes words off the front of a text.
class Words {
 public:
  explicit Words(std::string_view text) : rest_(text) {}

  std::string_view Next() {
    constexpr std::string_view kBlanks = " \t\n\r";
    rest_.remove_prefix(std::min(rest_.find_first_not_of(kBlanks), rest_.size()));
    const std::size_t to = std::min(rest_.find_first_of(kBlanks), rest_.size());
    const std::string_view word = rest_.substr(0, to);
    rest_.remove_prefix(to);
    return word;
  }
  std::optional<std::int64_t> Number() { return base::ParseInt(Next()); }

  /// The next numbers into `values`; false when one is missing.
  template <std::size_t kCount>
  bool Numbers(std::array<std::int64_t, kCount>& values) {
    for (std::int64_t& value : values) {
      const auto number = Number();
      if (!number) {
        return false;
      }
      value = *number;
    }
    return true;
  }

 private:
  std::string_view rest_;
};

/// Calls `seen` with each line.
template <typename Seen>
void ForEachLine(std::string_view text, Seen seen) {
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    seen(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
}

/// "name:   value" or "name\t: value" -> value, when the line is about `name`.
inline std::optional<std::string_view> After(std::string_view line, std::string_view name) {
  if (!line.starts_with(name)) {
    return std::nullopt;
  }
  line.remove_prefix(name.size());
  line.remove_prefix(std::min(line.find_first_not_of(" \t"), line.size()));
  if (!line.starts_with(':')) {
    return std::nullopt;
  }
  return base::Trim(line.substr(1));
}

/// "name value" -> value, when the line is about `name`.
inline std::optional<std::int64_t> NumberAfter(std::string_view line, std::string_view name) {
  return line.starts_with(name) && line.substr(name.size()).starts_with(' ')
             ? Words(line.substr(name.size())).Number()
             : std::nullopt;
}

}  // namespace probes
