// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/kept_addresses.h"

#include <algorithm>
#include <functional>
#include <optional>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "profiles/demand/stream_url.h"

namespace cli {
namespace {

/// Where the string that begins at `begin` ends, behind its quotation mark; the text's end where it
/// has none.
std::size_t EndOfString(std::string_view text, std::size_t begin) {
  for (std::size_t at = begin + 1; at < text.size(); ++at) {
    if (text[at] == '"') {
      return at + 1;
    }
    at += text[at] == '\\' ? 1 : 0;
  }
  return text.size();
}

/// `text` with another value for the strings of which `other` gives one.
std::string WithOtherStrings(
    std::string_view text,
    const std::function<std::optional<std::string>(const std::string& value)>& other) {
  std::string changed;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t begin = std::min(text.find('"', at), text.size());
    const std::size_t end = begin == text.size() ? begin : EndOfString(text, begin);
    const std::string_view string = text.substr(begin, end - begin);
    changed += text.substr(at, begin - at);
    const auto value = nlohmann::json::parse(string, nullptr, false);
    const auto instead = value.is_string() ? other(value.get<std::string>()) : std::nullopt;
    changed += instead ? nlohmann::json(*instead).dump() : std::string(string);
    at = end;
  }
  return changed;
}

/// One word that begins as an address: a note that speaks of one is its writer's own text.
bool IsAddress(std::string_view value) {
  const std::size_t separator = value.find("://");
  return separator != std::string_view::npos && separator > 0 &&
         value.find_first_of(" \t\r\n") == std::string_view::npos;
}

}  // namespace

std::string KeptAddresses::StandInFor(const std::string& address) {
  const auto known = stand_ins_.find(address);
  if (known != stand_ins_.end()) {
    return known->second;
  }
  const std::string stand_in =
      fmt::format("{}/kept-{}", profiles::MaskedUrl(address), stand_ins_.size() + 1);
  stand_ins_.emplace(address, stand_in);
  addresses_.emplace(stand_in, address);
  return stand_in;
}

std::string KeptAddresses::Hide(std::string_view text) {
  const std::lock_guard lock(mutex_);
  return WithOtherStrings(text, [this](const std::string& value) -> std::optional<std::string> {
    const bool whole = !IsAddress(value) || profiles::MaskedUrl(value) == value;
    return whole ? std::nullopt : std::optional(StandInFor(value));
  });
}

std::string KeptAddresses::PutBack(std::string_view text) const {
  const std::lock_guard lock(mutex_);
  return WithOtherStrings(text, [this](const std::string& value) -> std::optional<std::string> {
    const auto found = addresses_.find(value);
    return found == addresses_.end() ? std::nullopt : std::optional(found->second);
  });
}

}  // namespace cli
