// SPDX-License-Identifier: Apache-2.0
//
// Any stored value as a JSON value whose keys keep their order.

#pragma once

#include <cmath>
#include <optional>
#include <string>
#include <type_traits>
#include <vector>

#include <nlohmann/json.hpp>

#include "base/reading.h"
#include "report/fields/fields.h"
#include "report/fields/words.h"

namespace report::stored {

using Json = nlohmann::ordered_json;

template <typename T>
Json ToJson(const T& value);

template <typename T>
Json ToJson(const std::vector<T>& values) {
  Json array = Json::array();
  for (const T& value : values) {
    array.push_back(ToJson(value));
  }
  return array;
}

/// Null when absent.
template <typename T>
Json ToJson(const std::optional<T>& value) {
  return value ? ToJson(*value) : Json(nullptr);
}

/// The value itself, or {"unknown": reason}.
template <typename T>
Json ToJson(const base::Reading<T>& reading) {
  if (!reading.known()) {
    return Json{{"unknown", reading.why_unknown()}};
  }
  if constexpr (std::is_floating_point_v<T>) {
    if (!std::isfinite(*reading)) {
      return Json{{"unknown", "not a finite number"}};
    }
  }
  return ToJson(*reading);
}

/// Text, numbers, truth values, enumerations as words, structs as objects.
/// A number that is not finite becomes null.
template <typename T>
Json ToJson(const T& value) {
  if constexpr (HasFields<T>) {
    Json object = Json::object();
    EachField([&object](const char* key, const auto& field) { object[key] = ToJson(field); },
              value);
    return object;
  } else if constexpr (std::is_enum_v<T>) {
    return Json(std::string(WordOf(value)));
  } else if constexpr (std::is_floating_point_v<T>) {
    return std::isfinite(value) ? Json(value) : Json(nullptr);
  } else {
    return Json(value);
  }
}

}  // namespace report::stored
