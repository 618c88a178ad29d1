// SPDX-License-Identifier: Apache-2.0
//
// ITU-T H.265 levels, Main tier.

#include <cstdint>

#include "profiles/demand/codec_level.h"

namespace profiles {
namespace {

struct Level {
  std::string_view name;
  std::int64_t luma_samples;             // MaxLumaPs
  std::int64_t luma_samples_per_second;  // MaxLumaSr
  std::int64_t main_kbps;                // MaxBR of the Main tier, CpbVclFactor 1000
};

// ITU-T H.265 Tables A.8 and A.9, as in FFmpeg libavcodec/h265_profile_level.c.
constexpr std::array kLevels{
    Level{"1", 36864, 552960, 128},
    Level{"2", 122880, 3686400, 1500},
    Level{"2.1", 245760, 7372800, 3000},
    Level{"3", 552960, 16588800, 6000},
    Level{"3.1", 983040, 33177600, 10000},
    Level{"4", 2228224, 66846720, 12000},
    Level{"4.1", 2228224, 133693440, 20000},
    Level{"5", 8912896, 267386880, 25000},
    Level{"5.1", 8912896, 534773760, 40000},
    Level{"5.2", 8912896, 1069547520, 60000},
    Level{"6", 35651584, 1069547520, 60000},
    Level{"6.1", 35651584, 2139095040, 120000},
    Level{"6.2", 35651584, 4278190080, 240000},
};

/// A.4.2, MaxDpbSize with maxDpbPicBuf 6: small pictures may be held more often.
int DpbPictures(std::int64_t picture_samples, std::int64_t max_luma_samples) {
  if (4 * picture_samples <= max_luma_samples) {
    return 16;
  }
  if (2 * picture_samples <= max_luma_samples) {
    return 12;
  }
  return 4 * picture_samples <= 3 * max_luma_samples ? 8 : 6;
}

}  // namespace

LevelNeed HevcLevelOf(const EncodedPicture& picture) {
  const std::int64_t samples = picture.raster.Pixels();
  const std::int64_t width = picture.raster.width;
  const std::int64_t height = picture.raster.height;
  const std::array needs{
      LimitNeed{"raster", LowestLevel(kLevels,
                                      [&](const Level& level) {
                                        // A.4.1: neither side beyond sqrt(8 x MaxLumaPs)
                                        const std::int64_t side = 8 * level.luma_samples;
                                        return samples <= level.luma_samples &&
                                               width * width <= side && height * height <= side;
                                      })},
      LimitNeed{"picture rate", LowestLevel(kLevels,
                                            [&](const Level& level) {
                                              return base::ProductAtMost(
                                                  picture.rate, samples,
                                                  level.luma_samples_per_second);
                                            })},
      LimitNeed{"bit rate", LowestLevel(kLevels,
                                        [&](const Level& level) {
                                          return picture.bitrate_kbps <= level.main_kbps;
                                        })},
      LimitNeed{"frames in flight", LowestLevel(kLevels,
                                                [&](const Level& level) {
                                                  // one of the DPB's pictures is the current one
                                                  return picture.reference_pictures + 1 <=
                                                         DpbPictures(samples, level.luma_samples);
                                                })},
  };
  return HighestOf(needs, LevelNames(kLevels), "5.1");
}

}  // namespace profiles
