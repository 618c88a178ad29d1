// SPDX-License-Identifier: Apache-2.0
//
// The members that every JSON of ours opens with.

#pragma once

#include <nlohmann/json.hpp>

#include "report/fields/to_json.h"

namespace report::stored {

inline Json Opening(const char* format, int version) {
  Json json = Json::object();
  json["format"] = format;
  json["version"] = version;
  return json;
}

}  // namespace report::stored
