// SPDX-License-Identifier: Apache-2.0
//
// Puts the pieces that a depacketiser hands out together again to whole pictures.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "base/media/ffmpeg.h"

namespace bench {

/// Pieces carry the index of their picture; one picture is under way at a time.
class PictureAssembler {
 public:
  struct Assembled {
    base::PacketPtr packet;
    std::int64_t index = 0;
  };

  /// Gives the picture before when `index` is that of another one.
  std::optional<Assembled> Add(std::int64_t index, std::span<const std::uint8_t> piece);
  /// The picture under way, if any: its last piece is known to have come, or nothing more comes.
  std::optional<Assembled> Finish();

 private:
  std::int64_t index_ = 0;
  std::vector<std::uint8_t> bytes_;
};

}  // namespace bench
