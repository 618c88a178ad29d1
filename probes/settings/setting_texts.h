// SPDX-License-Identifier: Apache-2.0
//
// Parsers of the small texts that hold settings.

#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace probes {

/// PRETTY_NAME of os-release(5), quotes and escapes undone, made printable.
std::optional<std::string> ParsePrettyName(std::string_view os_release_text);

/// "[default] performance powersave" -> "default": how sysfs marks a choice.
std::optional<std::string> ParseBracketed(std::string_view text);

}  // namespace probes
