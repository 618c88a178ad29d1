// SPDX-License-Identifier: Apache-2.0
//
// Sources that a production is to have besides its own, in a few words or as a profile writes them.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "profiles/profile.h"

namespace profiles {

/// What the short form looks like, for errors and help.
inline constexpr std::string_view kAdditionForm =
    "\"[Nx] RASTER RATE usb|pcie|network FORM [KBPS] [CONTENT] [iso|iso=KBPS]\", \"[Nx] "
    "like:NAME\" "
    "or a .json file";

/// The production with the sources of a short form behind its own:
///   "2x 1920x1080 50 usb nv12 iso"         two alike, each with an isolated recording
///   "1920x1080 25 network h264 8000"       over the network at 8000 kb/s
///   "3x like:Camera 1"                     as that source is, with isos as it has
/// An iso is as the first iso or recording of the production, at as many bits a pixel.
/// kInvalid says which word was found and what is allowed there.
base::Result<Profile> WithAdded(const Profile& profile, const std::string& short_form);

/// The production with the sources, and their isos, of a JSON text with `sources` and, if wanted,
/// `outputs` of kind "iso", written as in a profile. Errors give the pointer in that text.
base::Result<Profile> WithAddedJson(const Profile& profile, std::string_view json_text,
                                    const std::string& origin);

}  // namespace profiles
