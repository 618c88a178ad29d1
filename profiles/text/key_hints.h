// SPDX-License-Identifier: Apache-2.0
//
// What to tell the author of a profile about a key that nothing knows.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace profiles {

/// One line: the unit that is wanted when `key` is a known key with another
/// unit or none ("bitrate_mbps"), else the nearest known key, else all of them.
std::string UnknownKeyHint(std::string_view key, const std::vector<std::string>& known);

/// The known key that is probably meant; nothing when none is near.
std::optional<std::string> MeantKey(std::string_view key, const std::vector<std::string>& known);

/// "a, b, c", each in quotation marks.
std::string QuotedList(const std::vector<std::string>& words);

}  // namespace profiles
