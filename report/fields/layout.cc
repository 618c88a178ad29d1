// SPDX-License-Identifier: Apache-2.0

#include "report/fields/layout.h"

#include <cstddef>
#include <vector>

namespace report::stored {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kMostColumns = 100;
constexpr std::size_t kIndent = 2;

std::string Plain(const Json& value) {
  return value.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string Render(const Json& value, std::size_t indent);

/// The rendered members; `width` gets their total and passes the limit when one has several lines.
std::vector<std::string> RenderParts(const Json& value, std::size_t indent, std::size_t& width) {
  std::vector<std::string> parts;
  parts.reserve(value.size());
  for (auto it = value.begin(); it != value.end(); ++it) {
    std::string part = value.is_object() ? Plain(it.key()) + ": " : std::string();
    part += Render(*it, indent);
    width += part.size() + 2;
    if (part.find('\n') != std::string::npos) {
      width += kMostColumns;
    }
    parts.push_back(std::move(part));
  }
  return parts;
}

std::string Render(const Json& value, std::size_t indent) {
  if (!value.is_structured() || value.empty()) {
    return Plain(value);
  }
  std::size_t width = indent;
  const std::vector<std::string> parts = RenderParts(value, indent + kIndent, width);
  const bool one_line = width <= kMostColumns;
  const std::string between = one_line ? "" : "\n" + std::string(indent + kIndent, ' ');
  std::string text(1, value.is_object() ? '{' : '[');
  for (std::size_t i = 0; i < parts.size(); ++i) {
    text += i == 0 ? "" : (one_line ? ", " : ",");
    text += between;
    text += parts[i];
  }
  text += one_line ? "" : "\n" + std::string(indent, ' ');
  text += value.is_object() ? '}' : ']';
  return text;
}

}  // namespace

std::string Layout(const Json& value) {
  return Render(value, 0) + "\n";
}

}  // namespace report::stored
