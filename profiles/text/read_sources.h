// SPDX-License-Identifier: Apache-2.0
//
// Reads the sources of a profile and spreads out their counts.

#pragma once

#include <vector>

#include "profiles/profile.h"
#include "profiles/text/json_cursor.h"

namespace profiles {

inline constexpr int kMostSources = 16;

/// The list under /sources: 1 to 16 sources once counts are spread out, no name twice.
std::vector<Source> ReadSources(const JsonCursor& at);

}  // namespace profiles
