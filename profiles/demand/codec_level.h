// SPDX-License-Identifier: Apache-2.0
//
// The lowest codec level that an encoded picture fits, which limit asks for it, and whether players
// take it.

#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/rational.h"
#include "profiles/profile.h"

namespace profiles {

/// What is encoded. The bit rate counts as the stream's highest: live encoders
/// run at a constant rate.
struct EncodedPicture {
  Raster raster;
  base::Rational rate{30};
  int bitrate_kbps = 0;
  int reference_pictures = 1;  // held by the decoder, see ReferencePictures
  bool high_profile = true;    // H.264: else a fifth less bit rate fits each level
};

struct LevelNeed {
  std::string level;  // "4.2"; empty when no level holds it
  std::string limit;  // "raster", "picture rate", "bit rate" or "frames in flight"
  /// Common practice, no standard says so: ordinary players and TV sets take
  /// H.264 up to 4.2 (5.2 for pictures larger than 1080p), HEVC Main tier up
  /// to 5.1, AV1 Main up to 5.1.
  bool commonly_played = true;
};

/// 8-bit 4:2:0, frames (not fields): ITU-T H.264 Table A-1.
LevelNeed H264LevelOf(const EncodedPicture& picture);
/// Main profile, Main tier: ITU-T H.265 Tables A.8 and A.9.
LevelNeed HevcLevelOf(const EncodedPicture& picture);
/// Main profile, Main tier: AV1 specification, annex A.3.
LevelNeed Av1LevelOf(const EncodedPicture& picture);

/// Pictures that a decoder must hold for what encoders do at each effort.
int ReferencePictures(Effort effort);

/// Whether H.264 at this effort uses what only the High profile has (8x8 transform).
bool NeedsHighProfile(Effort effort);

/// Index of the lowest level that one limit allows; nothing when none does.
struct LimitNeed {
  std::string_view limit;
  std::optional<std::size_t> lowest;
};

/// The level that satisfies all of `needs`, and the first of them that asks for it.
LevelNeed HighestOf(std::span<const LimitNeed> needs, std::span<const std::string_view> levels,
                    std::string_view highest_played);

/// Index of the first level that `fits`; nothing when none does.
template <typename Levels, typename Fits>
std::optional<std::size_t> LowestLevel(const Levels& levels, const Fits& fits) {
  for (std::size_t i = 0; i < levels.size(); ++i) {
    if (fits(levels[i])) {
      return i;
    }
  }
  return std::nullopt;
}

template <typename Levels>
auto LevelNames(const Levels& levels) {
  std::array<std::string_view, std::tuple_size_v<Levels>> names;
  for (std::size_t i = 0; i < levels.size(); ++i) {
    names[i] = levels[i].name;
  }
  return names;
}

}  // namespace profiles
