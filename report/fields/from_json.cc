// SPDX-License-Identifier: Apache-2.0

#include "report/fields/from_json.h"

#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "base/text.h"

namespace report::stored {
namespace {

constexpr std::size_t kMostShownBytes = 40;
/// Stands in some counters for "nothing counts this here".
constexpr int kNotCounted = -1;

/// A stored value in a few words, safe to print on one line.
std::string Described(const nlohmann::json& found) {
  switch (found.type()) {
    case nlohmann::json::value_t::string:
      return "\"" + base::Printable(found.get_ref<const std::string&>(), kMostShownBytes) + "\"";
    case nlohmann::json::value_t::object:
      return "an object";
    case nlohmann::json::value_t::array:
      return "a list";
    default:
      return found.dump();
  }
}

}  // namespace

void StoredReader::Note(std::string detail) {
  if (error_) {
    return;
  }
  std::string pointer;
  for (const std::string& part : path_) {
    pointer += "/" + part;
  }
  error_ = base::Error{base::ErrorKind::kMalformed,
                       base::Printable(origin_) + ": " + (pointer.empty() ? "/" : pointer),
                       std::move(detail)};
}

void StoredReader::Fail(const Value& found, const std::string& allowed) {
  Note(fmt::format("found {}, allowed: {}", Described(found), allowed));
}

void StoredReader::FailMissing() {
  Note("the key is missing");
}

void StoredReader::Read(const Value& found, std::string& into) {
  if (const auto* text = found.get_ptr<const std::string*>()) {
    into = *text;
  } else {
    Fail(found, "text");
  }
}

void StoredReader::Read(const Value& found, bool& into) {
  if (const auto* truth = found.get_ptr<const bool*>()) {
    into = *truth;
  } else {
    Fail(found, "true or false");
  }
}

void StoredReader::Read(const Value& found, double& into) {
  constexpr double kMost =
      1e15;  // nothing that is measured is as large; a sum of many fits 64 bits
  if (!found.is_number()) {
    Fail(found, "a number");
  } else if (std::abs(found.get<double>()) > kMost) {
    Fail(found, fmt::format("a number from {} to {}", -kMost, kMost));
  } else {
    into = found.get<double>();
  }
}

std::int64_t StoredReader::Whole(const Value& found, std::int64_t most) {
  // Non-negative literals are parsed as unsigned, all others as signed or floating.
  const auto* number = found.get_ptr<const Value::number_unsigned_t*>();
  if (found.is_number_integer() && found == kNotCounted) {
    return kNotCounted;
  }
  if (number != nullptr && *number <= static_cast<Value::number_unsigned_t>(most)) {
    return static_cast<std::int64_t>(*number);
  }
  Fail(found, fmt::format("a whole number from -1 to {}", most));
  return 0;
}

void StoredReader::Read(const Value& found, int& into) {
  into = static_cast<int>(Whole(found, std::numeric_limits<int>::max()));
}

void StoredReader::Read(const Value& found, std::int64_t& into) {
  into = Whole(found, most_);
}

}  // namespace report::stored
