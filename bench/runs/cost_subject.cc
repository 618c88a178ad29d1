// SPDX-License-Identifier: Apache-2.0

#include "bench/runs/cost_subject.h"

#include <nlohmann/json.hpp>

#include "base/text.h"
#include "profiles/words.h"

namespace bench {
namespace {

using Json = nlohmann::json;

/// A whole number from 0; false where there is something else.
bool TakeNumber(const Json& object, const char* key, int& into) {
  constexpr std::int64_t kMost = 1'000'000'000;
  const auto found = object.find(key);
  if (found == object.end() || !found->is_number_unsigned() || *found > kMost) {
    return false;
  }
  into = found->get<int>();
  return true;
}

/// What is not told stays so; false where a word is none of the enumeration's.
template <typename Enum>
bool TakeWord(const Json& object, const char* key, std::optional<Enum>& into) {
  const auto found = object.find(key);
  if (found == object.end()) {
    return true;
  }
  const auto* word = found->get_ptr<const std::string*>();
  into = word == nullptr ? std::nullopt : base::FromWord<Enum>(*word);
  return into.has_value();
}

}  // namespace

std::string ToLabel(const CostSubject& subject) {
  Json json{{"width", subject.width},
            {"height", subject.height},
            {"form", subject.form},
            {"bitrate_kbps", subject.bitrate_kbps}};
  if (subject.effort) {
    json["effort"] = base::WordOf(*subject.effort);
  }
  if (subject.content) {
    json["content"] = base::WordOf(*subject.content);
  }
  return json.dump(-1, ' ', true, Json::error_handler_t::replace);
}

std::optional<CostSubject> FromLabel(std::string_view label) {
  const Json json = Json::parse(label, nullptr, false);
  if (!json.is_object()) {
    return std::nullopt;
  }
  CostSubject subject;
  const auto form = json.find("form");
  if (form == json.end() || !form->is_string() || !TakeNumber(json, "width", subject.width) ||
      !TakeNumber(json, "height", subject.height) ||
      !TakeNumber(json, "bitrate_kbps", subject.bitrate_kbps) ||
      !TakeWord(json, "effort", subject.effort) || !TakeWord(json, "content", subject.content)) {
    return std::nullopt;
  }
  subject.form = base::Printable(form->get<std::string>());
  return subject;
}

}  // namespace bench
