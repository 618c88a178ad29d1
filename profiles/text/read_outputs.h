// SPDX-License-Identifier: Apache-2.0
//
// Reads the outputs of a profile and spreads "every source" out.

#pragma once

#include <vector>

#include "profiles/profile.h"
#include "profiles/text/json_cursor.h"

namespace profiles {

inline constexpr int kMostOutputs = 32;

/// The list under /outputs: 1 to 32 outputs once "every source" is spread out.
/// `profile` must hold program, sources and multiview already.
/// `pictures_known`: sources and multiview were read without a mistake, so that
/// what an output takes can be checked.
std::vector<Output> ReadOutputs(const JsonCursor& at, const Profile& profile, bool pictures_known);

}  // namespace profiles
