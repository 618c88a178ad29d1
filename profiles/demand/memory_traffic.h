// SPDX-License-Identifier: Apache-2.0
//
// The bytes that a production moves through memory each second.

#pragma once

#include "profiles/profile.h"

namespace profiles {

/// Reads and writes of whole pictures by each stage: capture copy, conversion,
/// program, multiview, fitting to an output's raster, encoder, writer. A lower
/// bound: what caches catch is counted, what encoders read twice is not.
double MemoryTrafficBytesPerSecond(const Profile& profile);

}  // namespace profiles
