// SPDX-License-Identifier: Apache-2.0
//
// Whether a profile speaks of more than this PC.

#pragma once

#include "profiles/profile.h"

namespace profiles {

/// Whether an address in it leads to another PC: a stream's address often holds the key to it, so
/// that such a profile is for its owner's eyes only.
bool NamesOtherPcs(const Profile& profile);

}  // namespace profiles
