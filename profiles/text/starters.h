// SPDX-License-Identifier: Apache-2.0
//
// The starter profiles (profiles/starters/*.json), embedded at build time.

#pragma once

#include <string_view>
#include <vector>

namespace profiles {

struct Starter {
  std::string_view name;  // "two-camera-talk"
  std::string_view json;
};

const std::vector<Starter>& Starters();
/// The one that a two-core PC can carry; what `rigproof qualify` takes by default.
std::string_view DefaultStarterName();
/// The JSON Schema of the format, embedded.
std::string_view ProfileSchemaJson();

}  // namespace profiles
