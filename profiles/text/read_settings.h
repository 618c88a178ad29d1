// SPDX-License-Identifier: Apache-2.0
//
// Reads what a profile says once: program, audio, multiview, margins.

#pragma once

#include <optional>

#include "profiles/profile.h"
#include "profiles/text/json_cursor.h"

namespace profiles {

/// {raster, rate}; the same shape serves program and multiview.
Multiview ReadPicture(const JsonCursor& at);
/// Nothing when it is null.
std::optional<Audio> ReadAudio(const JsonCursor& at);
std::optional<Multiview> ReadMultiview(const JsonCursor& at);
/// Margins that are not given keep their defaults.
Margins ReadMargins(const JsonCursor& at);

}  // namespace profiles
