// SPDX-License-Identifier: Apache-2.0
//
// JSON text that people can read: short objects and lists stay on one line.

#pragma once

#include <string>

#include <nlohmann/json.hpp>

namespace report::stored {

/// `value` as JSON text with a newline at its end, broken only where a line
/// would pass 100 columns. Bytes that are not UTF-8 become U+FFFD.
std::string Layout(const nlohmann::ordered_json& value);

}  // namespace report::stored
