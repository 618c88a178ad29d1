// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/json_text.h"

#include <algorithm>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/stream_url.h"

namespace profiles {
namespace {

using base::Error;
using base::ErrorKind;

std::string LineAndColumn(std::string_view text, std::size_t position) {
  // The parser counts the byte that it stumbled over as read.
  const std::string_view before = text.substr(0, position == 0 ? 0 : position - 1);
  const auto line = 1 + std::count(before.begin(), before.end(), '\n');
  const std::size_t newline = before.rfind('\n');
  const std::size_t column = before.size() - (newline == std::string_view::npos ? 0 : newline + 1);
  return fmt::format("line {}, column {}", line, column + 1);
}

/// The parser's message without its class name and its own position. A text that it was reading is
/// not repeated: a URL with a key may stand there.
std::string Reason(std::string_view message) {
  constexpr std::string_view kLastRead = "; last read: '\"";
  message = message.substr(0, message.find(kLastRead));
  const std::size_t dash = message.find(" - ");
  if (dash != std::string_view::npos) {
    return base::Printable(message.substr(dash + 3));
  }
  const std::size_t bracket = message.find("] ");
  return base::Printable(bracket == std::string_view::npos ? message : message.substr(bracket + 2));
}

/// Walks the text once for what a built value cannot show any more: repeated
/// keys (the parser keeps the last) and where the syntax broke.
class TextChecker : public nlohmann::json_sax<Json> {
 public:
  TextChecker(std::string_view text, const std::string& origin) : text_(text), origin_(origin) {}

  const std::optional<Error>& error() const { return error_; }

  // The interface's names, not ours. NOLINTBEGIN(readability-identifier-naming)
  bool null() override { return Value(); }
  bool boolean(bool) override { return Value(); }
  bool number_integer(number_integer_t) override { return Value(); }
  bool number_unsigned(number_unsigned_t) override { return Value(); }
  bool number_float(number_float_t, const string_t&) override { return Value(); }
  bool string(string_t&) override { return Value(); }
  bool binary(binary_t&) override { return Value(); }
  bool start_object(std::size_t) override { return Open(true); }
  bool start_array(std::size_t) override { return Open(false); }
  bool end_object() override { return Close(); }
  bool end_array() override { return Close(); }

  bool key(string_t& name) override {
    Level& level = levels_.back();
    level.key = name;
    if (level.keys.insert(name).second) {
      return true;
    }
    error_ = Error{ErrorKind::kInvalid, PlaceIn(origin_, Pointer()),
                   "the key stands here twice; allowed: once"};
    return false;
  }

  bool parse_error(std::size_t position, const std::string&,
                   const nlohmann::detail::exception& broken) override {
    error_ = Error{ErrorKind::kMalformed, origin_ + ": " + LineAndColumn(text_, position),
                   "not JSON: " + Reason(broken.what())};
    return false;
  }
  // NOLINTEND(readability-identifier-naming)

 private:
  struct Level {
    bool is_object = false;
    std::set<std::string> keys;
    std::string key;
    std::size_t values = 0;
  };

  bool Value() {
    if (!levels_.empty()) {
      ++levels_.back().values;
    }
    return true;
  }

  bool Open(bool is_object) {
    Value();
    if (static_cast<int>(levels_.size()) >= kDeepestNesting) {
      error_ = Error{ErrorKind::kInvalid, PlaceIn(origin_, Pointer()),
                     fmt::format("nested deeper than {} levels", kDeepestNesting)};
      return false;
    }
    levels_.push_back(Level{is_object, {}, "", 0});
    return true;
  }

  bool Close() {
    levels_.pop_back();
    return true;
  }

  std::string Pointer() const {
    std::string pointer;
    for (const Level& level : levels_) {
      pointer =
          PointerStep(pointer, level.is_object ? level.key : std::to_string(level.values - 1));
    }
    return pointer;
  }

  std::string_view text_;
  const std::string& origin_;
  std::vector<Level> levels_;
  std::optional<Error> error_;
};

}  // namespace

std::string PointerStep(const std::string& pointer, std::string_view key) {
  std::string escaped;
  for (const char c : base::Printable(WithMaskedUrls(key), 60)) {
    if (c == '~') {
      escaped += "~0";
    } else if (c == '/') {
      escaped += "~1";
    } else {
      escaped += c;
    }
  }
  return pointer + "/" + escaped;
}

std::string PlaceIn(const std::string& origin, const std::string& pointer) {
  return origin + ": " + (pointer.empty() ? "top level" : pointer);
}

base::Result<Json> ParseJsonText(std::string_view text, const std::string& origin) {
  const std::string shown_origin = base::Printable(origin, 400);
  TextChecker checker(text, shown_origin);
  Json::sax_parse(text, &checker);
  if (checker.error()) {
    return *checker.error();
  }
  return Json::parse(text, nullptr, /*allow_exceptions=*/false);
}

}  // namespace profiles
