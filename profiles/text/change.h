// SPDX-License-Identifier: Apache-2.0
//
// One thing of a production set to another value, in a few words.

#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "profiles/profile.h"

namespace profiles {

/// What a change looks like, for errors and help.
inline constexpr std::string_view kChangeForm =
    "WHERE.WHAT=VALUE; WHERE: production, program, multiview, sources, outputs, recordings, "
    "streams, "
    "isos, or the name of one source or output; WHAT and VALUE as in a profile";

/// Folder of an output that stands for a disk as fast and as large as the one that there is.
inline constexpr std::string_view kSecondDisk = "second-disk";

/// The production with one member set anew:
///   "isos.effort=least", "program.raster=1280x720", "production.duration_minutes=240",
///   "isos.folder=second-disk", "Camera 1.rate=25", "multiview=none"
/// Outputs that have the raster (or rate) of what they take keep doing so when that changes.
/// kInvalid names what was found and what is allowed.
base::Result<Profile> WithChange(const Profile& profile, const std::string& change);

}  // namespace profiles
