// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/codec_level.h"

#include <algorithm>

namespace profiles {

int ReferencePictures(Effort effort) {
  // libx264's presets (x264_param_default_preset, and the DPB rule in
  // encoder/set.c): "ultrafast" has one reference and no B pictures; from
  // "superfast" to "medium" a pyramid of B pictures needs four. GPU encoders
  // hold no more (common practice).
  return effort == Effort::kLeast ? 1 : 4;
}

// libx264's "ultrafast" goes without the 8x8 transform: Baseline profile.
bool NeedsHighProfile(Effort effort) {
  return effort != Effort::kLeast;
}

LevelNeed HighestOf(std::span<const LimitNeed> needs, std::span<const std::string_view> levels,
                    std::string_view highest_played) {
  LevelNeed need;
  std::size_t highest = 0;
  for (const LimitNeed& one : needs) {
    if (!one.lowest) {
      return LevelNeed{"", std::string(one.limit), false};
    }
    if (need.limit.empty() || *one.lowest > highest) {
      highest = *one.lowest;
      need.limit = one.limit;
    }
  }
  need.level = levels[highest];
  const auto played = std::find(levels.begin(), levels.end(), highest_played);
  need.commonly_played = highest <= static_cast<std::size_t>(played - levels.begin());
  return need;
}

}  // namespace profiles
