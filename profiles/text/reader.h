// SPDX-License-Identifier: Apache-2.0
//
// Reads a production profile strictly: unknown keys, wrong units and impossible values are errors.

#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "profiles/profile.h"

namespace profiles {

/// Profile text to Profile. `origin` (a file name) opens every error's
/// `where`, followed by the JSON pointer: "talk.json: /sources/0/rate". The
/// detail says what was found and what is allowed.
base::Result<Profile> ParseProfile(std::string_view json_text, const std::string& origin);

/// A file, or the name of a starter profile ("two-camera-talk").
base::Result<Profile> ReadProfile(const std::filesystem::path& file_or_name);

/// The profile, or all that is wrong with it as it stands in the text; the
/// functions above tell the first of it. What only follows from another mistake is left out.
struct ProfileReading {
  std::optional<Profile> profile;
  std::vector<base::Error> mistakes;
};
ProfileReading ParseWholeProfile(std::string_view json_text, const std::string& origin);
ProfileReading ReadWholeProfile(const std::filesystem::path& file_or_name);

/// The profile as JSON text that ParseProfile reads back to the same value.
std::string ToJsonText(const Profile& profile);

}  // namespace profiles
