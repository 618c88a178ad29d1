// SPDX-License-Identifier: Apache-2.0

#include "profiles/profile.h"

#include <algorithm>

#include <fmt/format.h>

namespace profiles {

std::string ToText(const Raster& raster) {
  return fmt::format("{}x{}", raster.width, raster.height);
}

const Source* FindSource(const Profile& profile, const std::string& name) {
  const auto found = std::find_if(profile.sources.begin(), profile.sources.end(),
                                  [&](const Source& source) { return source.name == name; });
  return found == profile.sources.end() ? nullptr : &*found;
}

}  // namespace profiles
