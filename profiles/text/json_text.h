// SPDX-License-Identifier: Apache-2.0
//
// JSON text to a JSON value, strictly: no key twice, no bottomless nesting.

#pragma once

#include <string>
#include <string_view>

#include <nlohmann/json.hpp>

#include "base/result.h"

namespace profiles {

/// Keys keep the order of the file.
using Json = nlohmann::ordered_json;

/// Objects and lists inside one another; a profile needs four.
inline constexpr int kDeepestNesting = 16;

/// Errors open with `origin`, then line and column (syntax) or JSON pointer.
base::Result<Json> ParseJsonText(std::string_view text, const std::string& origin);

/// `pointer` with one more step, escaped as in RFC 6901 and safe to print.
std::string PointerStep(const std::string& pointer, std::string_view key);

/// "FILE: /sources/0/rate"; "FILE: top level" for the empty pointer.
std::string PlaceIn(const std::string& origin, const std::string& pointer);

}  // namespace profiles
