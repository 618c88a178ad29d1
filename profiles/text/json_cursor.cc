// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/json_cursor.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/stream_url.h"
#include "profiles/text/key_hints.h"

namespace profiles {
namespace {

const Json& Missing() {
  static const Json missing;
  return missing;
}

std::string Shown(const Json& value) {
  if (value.is_object()) {
    return "an object";
  }
  if (value.is_array()) {
    return fmt::format("a list of {}", value.size());
  }
  if (value.is_string()) {
    // Of a URL as little as anywhere, whichever member it stands in.
    const auto& text = value.get_ref<const std::string&>();
    const bool url = text.find("://") != std::string::npos;
    return fmt::format("\"{}\"", base::Printable(url ? MaskedUrl(text) : text, 60));
  }
  return value.dump();
}

bool AllPrintable(std::string_view text) {
  return base::Printable(text, text.size()) == text;
}

/// A text with more mistakes than that is no profile.
constexpr std::size_t kMostMistakes = 100;

bool Within(std::string_view pointer, std::string_view outer) {
  return pointer.starts_with(outer) &&
         (pointer.size() == outer.size() || pointer[outer.size()] == '/');
}

/// Where a value begins and ends, counted in values of the text.
struct Place {
  std::size_t begin = 0;
  std::size_t end = 0;
};

/// Every pointer with its place. Nesting is bounded where the text is parsed.
void NotePlaces(const Json& value, const std::string& pointer, std::size_t& count,
                std::map<std::string, Place>& places) {
  const std::size_t begin = count++;
  if (value.is_structured()) {
    std::size_t index = 0;
    for (const auto& [key, member] : value.items()) {
      NotePlaces(member, PointerStep(pointer, value.is_array() ? std::to_string(index) : key),
                 count, places);
      ++index;
    }
  }
  places.emplace(pointer, Place{begin, count});
}

}  // namespace

std::size_t CountCharacters(std::string_view utf8) {
  return static_cast<std::size_t>(std::count_if(utf8.begin(), utf8.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
  }));
}

void Mistakes::Report(const std::string& pointer, std::string detail, bool refused) {
  const bool known = std::any_of(mistakes_.begin(), mistakes_.end(), [&](const Mistake& one) {
    return (one.refused && Within(pointer, one.pointer)) ||
           (one.pointer == pointer && one.detail == detail);
  });
  if (!known && mistakes_.size() < kMostMistakes) {
    mistakes_.push_back({pointer, std::move(detail), refused});
  }
}

void Mistakes::NoteMisspelt(const std::string& pointer, const std::string& key) {
  misspelt_.insert(PointerStep(pointer, key));
}

bool Mistakes::Misspelt(const std::string& pointer, std::string_view key) const {
  return misspelt_.contains(PointerStep(pointer, key));
}

bool Mistakes::Touch(const std::string& pointer) const {
  return std::any_of(mistakes_.begin(), mistakes_.end(),
                     [&](const Mistake& one) { return Within(one.pointer, pointer); });
}

base::Error Mistakes::AsError(const Mistake& mistake) const {
  return {base::ErrorKind::kInvalid, PlaceIn(origin_, mistake.pointer), mistake.detail};
}

std::optional<base::Error> Mistakes::error() const {
  return mistakes_.empty() ? std::nullopt : std::optional(AsError(mistakes_.front()));
}

std::vector<base::Error> Mistakes::InOrderOf(const Json& top) const {
  std::vector<std::pair<std::size_t, const Mistake*>> placed;
  std::map<std::string, Place> places;
  std::size_t count = 0;
  NotePlaces(top, "", count, places);
  for (const Mistake& mistake : mistakes_) {
    const auto place = places.find(mistake.pointer);
    // What is missing would stand last.
    placed.emplace_back(place == places.end() ? count
                        : mistake.refused     ? place->second.begin
                                              : place->second.end,
                        &mistake);
  }
  std::stable_sort(placed.begin(), placed.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<base::Error> errors;
  for (const auto& [place, mistake] : placed) {
    errors.push_back(AsError(*mistake));
  }
  return errors;
}

void JsonCursor::CheckKeys(const std::vector<std::string>& known) const {
  if (!value_->is_object()) {
    RefuseFound("an object with " + QuotedList(known));
    return;
  }
  for (const auto& [key, unused] : value_->items()) {
    if (std::find(known.begin(), known.end(), key) == known.end()) {
      errors_->Report(PointerStep(pointer_, key), UnknownKeyHint(key, known));
      if (const auto meant = MeantKey(key, known)) {
        errors_->NoteMisspelt(pointer_, *meant);
      }
    }
  }
}

bool JsonCursor::Has(std::string_view key) const {
  return value_->is_object() && value_->contains(key);
}

JsonCursor JsonCursor::Member(std::string_view key) const {
  if (!value_->is_object()) {
    RefuseFound("an object");
    return Absent();
  }
  const auto found = value_->find(key);
  if (found == value_->end()) {
    if (!absent_ && !errors_->Misspelt(pointer_, key)) {
      errors_->Report(pointer_, fmt::format("found no \"{}\"; it must be there", key), false);
    }
    return Absent();
  }
  return {*found, PointerStep(pointer_, key), *errors_};
}

std::vector<JsonCursor> JsonCursor::Elements(std::size_t least, std::size_t most) const {
  std::vector<JsonCursor> elements;
  if (!value_->is_array() || value_->size() < least || value_->size() > most) {
    RefuseFound(fmt::format("a list of {} to {}", least, most));
    return elements;
  }
  for (std::size_t i = 0; i < value_->size(); ++i) {
    elements.emplace_back((*value_)[i], PointerStep(pointer_, std::to_string(i)), *errors_);
  }
  return elements;
}

std::string JsonCursor::Text(std::size_t longest) const {
  if (!value_->is_string()) {
    RefuseFound("text");
    return "";
  }
  const auto& text = value_->get_ref<const std::string&>();
  const std::size_t length = CountCharacters(text);
  if (length == 0 || length > longest) {
    Refuse(fmt::format("found text of {} characters; allowed: 1 to {}", length, longest));
    return "";
  }
  if (!AllPrintable(text)) {
    RefuseFound("text without control characters");
    return "";
  }
  return text;
}

std::string JsonCursor::AnyText() const {
  if (!value_->is_string()) {
    RefuseFound("text");
    return "";
  }
  return value_->get<std::string>();
}

std::string JsonCursor::OneOf(const std::vector<std::string>& allowed) const {
  if (value_->is_string()) {
    const auto& text = value_->get_ref<const std::string&>();
    if (std::find(allowed.begin(), allowed.end(), text) != allowed.end()) {
      return text;
    }
    if (const auto nearest = base::NearestWord(text, allowed); nearest && !text.empty()) {
      RefuseFound(fmt::format("{} (nearest: \"{}\")", QuotedList(allowed), *nearest));
      return allowed.front();
    }
  }
  RefuseFound(QuotedList(allowed));
  return allowed.front();
}

std::optional<int> JsonCursor::WholeOrNothing() const {
  constexpr double kLargest = std::numeric_limits<int>::max();
  const double number = value_->is_number() ? value_->get<double>() : NAN;
  if (!(std::abs(number) <= kLargest) || std::floor(number) != number) {
    return std::nullopt;
  }
  return static_cast<int>(number);
}

int JsonCursor::Whole(int least, int most) const {
  const auto whole = WholeOrNothing();
  if (!whole || *whole < least || *whole > most) {
    RefuseFound(fmt::format("a whole number from {} to {}", least, most));
    return least;
  }
  return *whole;
}

int JsonCursor::WholeOf(const std::vector<int>& allowed) const {
  const auto whole = WholeOrNothing();
  if (!whole || std::find(allowed.begin(), allowed.end(), *whole) == allowed.end()) {
    RefuseFound(fmt::format("{}", fmt::join(allowed, ", ")));
    return allowed.front();
  }
  return *whole;
}

double JsonCursor::Number(double least, double most) const {
  const double number = value_->is_number() ? value_->get<double>() : NAN;
  if (!(number >= least && number <= most)) {
    RefuseFound(fmt::format("a number from {} to {}", least, most));
    return least;
  }
  return number;
}

JsonCursor JsonCursor::Absent() const {
  JsonCursor absent(Missing(), pointer_, *errors_);
  absent.absent_ = true;
  return absent;
}

void JsonCursor::Refuse(std::string detail) const {
  if (!absent_) {
    errors_->Report(pointer_, std::move(detail));
  }
}

void JsonCursor::RefuseFound(std::string_view allowed) const {
  Refuse(fmt::format("found {}; allowed: {}", Shown(*value_), allowed));
}

}  // namespace profiles
