// SPDX-License-Identifier: Apache-2.0
//
// AV1 levels, Main tier.

#include <cstdint>

#include "profiles/demand/codec_level.h"

namespace profiles {
namespace {

struct Level {
  std::string_view name;
  std::int64_t picture_samples;     // MaxPicSize
  std::int64_t width;               // MaxHSize
  std::int64_t height;              // MaxVSize
  std::int64_t samples_per_second;  // MaxDisplayRate
  std::int64_t main_kbps;           // MainMbps x 1000
};

// AV1 specification annex A.3, as in FFmpeg libavcodec/av1_levels.c. The
// decode rate is left out: encoders keep hidden frames within it.
constexpr std::array kLevels{
    Level{"2.0", 147456, 2048, 1152, 4423680, 1500},
    Level{"2.1", 278784, 2816, 1584, 8363520, 3000},
    Level{"3.0", 665856, 4352, 2448, 19975680, 6000},
    Level{"3.1", 1065024, 5504, 3096, 31950720, 10000},
    Level{"4.0", 2359296, 6144, 3456, 70778880, 12000},
    Level{"4.1", 2359296, 6144, 3456, 141557760, 20000},
    Level{"5.0", 8912896, 8192, 4352, 267386880, 30000},
    Level{"5.1", 8912896, 8192, 4352, 534773760, 40000},
    Level{"5.2", 8912896, 8192, 4352, 1069547520, 60000},
    Level{"6.0", 35651584, 16384, 8704, 1069547520, 60000},
    Level{"6.1", 35651584, 16384, 8704, 2139095040, 100000},
    Level{"6.2", 35651584, 16384, 8704, 4278190080, 160000},
};

}  // namespace

LevelNeed Av1LevelOf(const EncodedPicture& picture) {
  const Raster& raster = picture.raster;
  const std::array needs{
      LimitNeed{"raster", LowestLevel(kLevels,
                                      [&](const Level& level) {
                                        return raster.Pixels() <= level.picture_samples &&
                                               raster.width <= level.width &&
                                               raster.height <= level.height;
                                      })},
      LimitNeed{"picture rate", LowestLevel(kLevels,
                                            [&](const Level& level) {
                                              return base::ProductAtMost(picture.rate,
                                                                         raster.Pixels(),
                                                                         level.samples_per_second);
                                            })},
      LimitNeed{"bit rate", LowestLevel(kLevels,
                                        [&](const Level& level) {
                                          return picture.bitrate_kbps <= level.main_kbps;
                                        })},
  };
  return HighestOf(needs, LevelNames(kLevels), "5.1");
}

}  // namespace profiles
