// SPDX-License-Identifier: Apache-2.0

#include "probes/settings/setting_texts.h"

#include "base/text.h"

namespace probes {
namespace {

/// os-release(5): values may stand in single or double quotes; in double
/// quotes a backslash shields the character after it.
std::string Unquoted(std::string_view value) {
  if (value.size() < 2 || (value.front() != '"' && value.front() != '\'') ||
      value.back() != value.front()) {
    return std::string(value);
  }
  const bool escapes = value.front() == '"';
  const std::string_view inner = value.substr(1, value.size() - 2);
  std::string plain;
  for (std::size_t i = 0; i < inner.size(); ++i) {
    if (escapes && inner[i] == '\\' && i + 1 < inner.size()) {
      ++i;
    }
    plain += inner[i];
  }
  return plain;
}

}  // namespace

std::optional<std::string> ParsePrettyName(std::string_view os_release_text) {
  static constexpr std::string_view kKey = "PRETTY_NAME=";
  for (const std::string_view line : base::Split(os_release_text, '\n')) {
    const std::string_view trimmed = base::Trim(line);
    if (trimmed.starts_with(kKey) && trimmed.size() > kKey.size()) {
      return base::Printable(Unquoted(trimmed.substr(kKey.size())));
    }
  }
  return std::nullopt;
}

std::optional<std::string> ParseBracketed(std::string_view text) {
  const auto open = text.find('[');
  const auto close = open == std::string_view::npos ? open : text.find(']', open);
  if (close == std::string_view::npos || close == open + 1) {
    return std::nullopt;
  }
  return base::Printable(text.substr(open + 1, close - open - 1), 60);
}

}  // namespace probes
