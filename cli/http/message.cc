// SPDX-License-Identifier: Apache-2.0

#include "cli/http/message.h"

#include <algorithm>
#include <cstddef>
#include <utility>

#include "base/text.h"

namespace cli {
namespace {

char Lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

bool SameName(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char one, char other) { return Lower(one) == Lower(other); });
}

/// RFC 3986, 2.1; in a query a plus sign is a space (HTML's form encoding).
std::optional<std::string> Decoded(std::string_view text, bool plus_is_space) {
  std::string decoded;
  for (std::size_t at = 0; at < text.size(); ++at) {
    if (text[at] != '%') {
      decoded += plus_is_space && text[at] == '+' ? ' ' : text[at];
      continue;
    }
    const auto is_digit = [](char c) {
      return (c >= '0' && c <= '9') || (Lower(c) >= 'a' && Lower(c) <= 'f');
    };
    const std::string_view digits = text.substr(at + 1, 2);
    if (digits.size() != 2 || !std::all_of(digits.begin(), digits.end(), is_digit)) {
      return std::nullopt;
    }
    decoded += static_cast<char>(*base::ParseInt(digits, 16));
    at += 2;
  }
  return decoded;
}

}  // namespace

std::vector<std::string> HttpRequest::All(std::string_view name) const {
  std::vector<std::string> values;
  for (const HttpField& field : fields) {
    if (SameName(field.name, name)) {
      values.push_back(field.value);
    }
  }
  return values;
}

std::string HttpRequest::First(std::string_view name) const {
  const auto found = std::find_if(fields.begin(), fields.end(), [&](const HttpField& field) {
    return SameName(field.name, name);
  });
  return found == fields.end() ? "" : found->value;
}

bool HttpRequest::HasParameter(std::string_view name) const {
  return std::any_of(query.begin(), query.end(),
                     [&](const HttpField& parameter) { return parameter.name == name; });
}

std::vector<std::string> HttpRequest::Parameters(std::string_view name) const {
  std::vector<std::string> values;
  for (const HttpField& parameter : query) {
    if (parameter.name == name) {
      values.push_back(parameter.value);
    }
  }
  return values;
}

std::string HttpRequest::Parameter(std::string_view name) const {
  const auto values = Parameters(name);
  return values.empty() ? "" : values.front();
}

bool ReadTarget(std::string_view target, HttpRequest& request) {
  if (!target.starts_with('/')) {
    return false;
  }
  const std::size_t mark = std::min(target.find('?'), target.size());
  auto path = Decoded(target.substr(0, mark), false);
  if (!path) {
    return false;
  }
  request.path = *std::move(path);
  request.query.clear();
  if (mark == target.size()) {
    return true;
  }
  for (const std::string_view part : base::Split(target.substr(mark + 1), '&')) {
    const std::size_t sign = std::min(part.find('='), part.size());
    auto name = Decoded(part.substr(0, sign), true);
    auto value = Decoded(part.substr(std::min(sign + 1, part.size())), true);
    if (!name || !value) {
      return false;
    }
    if (!part.empty()) {
      request.query.push_back({*std::move(name), *std::move(value)});
    }
  }
  return true;
}

HttpResponse Refusal(int status, std::string_view why) {
  HttpResponse response;
  response.status = status;
  response.body = std::string(why) + "\n";
  response.close = true;
  return response;
}

}  // namespace cli
