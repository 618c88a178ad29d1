// SPDX-License-Identifier: Apache-2.0
//
// ITU-T H.264 levels.

#include <algorithm>
#include <cstdint>

#include "profiles/demand/codec_level.h"

namespace profiles {
namespace {

struct Level {
  std::string_view name;
  std::int64_t macroblocks_per_second;  // MaxMBPS
  std::int64_t frame_macroblocks;       // MaxFS
  std::int64_t dpb_macroblocks;         // MaxDpbMbs
  std::int64_t bit_rate;                // MaxBR, times the profile's factor bit/s
};

// ITU-T H.264 Table A-1, as in FFmpeg libavcodec/h264_levels.c.
constexpr std::array kLevels{
    Level{"1", 1485, 99, 396, 64},
    Level{"1b", 1485, 99, 396, 128},
    Level{"1.1", 3000, 396, 900, 192},
    Level{"1.2", 6000, 396, 2376, 384},
    Level{"1.3", 11880, 396, 2376, 768},
    Level{"2", 11880, 396, 2376, 2000},
    Level{"2.1", 19800, 792, 4752, 4000},
    Level{"2.2", 20250, 1620, 8100, 4000},
    Level{"3", 40500, 1620, 8100, 10000},
    Level{"3.1", 108000, 3600, 18000, 14000},
    Level{"3.2", 216000, 5120, 20480, 20000},
    Level{"4", 245760, 8192, 32768, 20000},
    Level{"4.1", 245760, 8192, 32768, 50000},
    Level{"4.2", 522240, 8704, 34816, 50000},
    Level{"5", 589824, 22080, 110400, 135000},
    Level{"5.1", 983040, 36864, 184320, 240000},
    Level{"5.2", 2073600, 36864, 184320, 240000},
    Level{"6", 4177920, 139264, 696320, 240000},
    Level{"6.1", 8355840, 139264, 696320, 480000},
    Level{"6.2", 16711680, 139264, 696320, 800000},
};

constexpr std::int64_t kHighProfileFactor = 1250;   // cpbBrVclFactor, Table A-2
constexpr std::int64_t kOtherProfileFactor = 1000;  // Baseline and Main
constexpr std::int64_t kMostDpbFrames = 16;         // MaxDpbFrames, A.3.1
constexpr std::int64_t kMaxFs1080p = 8704;          // level 4.2's: 1080p and a little more

std::int64_t Macroblocks(int side) {
  return (side + 15) / 16;
}

}  // namespace

LevelNeed H264LevelOf(const EncodedPicture& picture) {
  const std::int64_t across = Macroblocks(picture.raster.width);
  const std::int64_t down = Macroblocks(picture.raster.height);
  const std::int64_t frame = across * down;
  const std::int64_t factor = picture.high_profile ? kHighProfileFactor : kOtherProfileFactor;
  const std::array needs{
      LimitNeed{"raster", LowestLevel(kLevels,
                                      [&](const Level& level) {
                                        // A.3.1: neither side beyond sqrt(8 x MaxFS)
                                        const std::int64_t side = 8 * level.frame_macroblocks;
                                        return frame <= level.frame_macroblocks &&
                                               across * across <= side && down * down <= side;
                                      })},
      LimitNeed{"picture rate", LowestLevel(kLevels,
                                            [&](const Level& level) {
                                              return base::ProductAtMost(
                                                  picture.rate, frame,
                                                  level.macroblocks_per_second);
                                            })},
      LimitNeed{"bit rate", LowestLevel(kLevels,
                                        [&](const Level& level) {
                                          return picture.bitrate_kbps * std::int64_t{1000} <=
                                                 level.bit_rate * factor;
                                        })},
      LimitNeed{"frames in flight", LowestLevel(kLevels,
                                                [&](const Level& level) {
                                                  return picture.reference_pictures <=
                                                         std::min(level.dpb_macroblocks / frame,
                                                                  kMostDpbFrames);
                                                })},
  };
  return HighestOf(needs, LevelNames(kLevels), frame <= kMaxFs1080p ? "4.2" : "5.2");
}

}  // namespace profiles
