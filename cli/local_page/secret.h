// SPDX-License-Identifier: Apache-2.0
//
// What only the page's user knows.

#pragma once

#include <string>
#include <string_view>

#include "base/result.h"

namespace cli {

/// 256 random bits from the operating system, as 64 hexadecimal digits.
base::Result<std::string> NewSecret();

/// Compares in a time that does not tell how much of `given` is right; only its length shows.
bool SameSecret(std::string_view given, std::string_view secret);

}  // namespace cli
