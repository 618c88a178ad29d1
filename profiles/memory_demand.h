// SPDX-License-Identifier: Apache-2.0
//
// The memory that a production keeps in use: frames in flight and encoders.

#pragma once

#include "profiles/profile.h"

namespace profiles {

/// Bytes of frames, packets and encoder state while the production runs.
/// Programs, libraries and the page cache are not in it.
double MemoryPoolBytes(const Profile& profile);

}  // namespace profiles
