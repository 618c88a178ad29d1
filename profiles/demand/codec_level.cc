// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/codec_level.h"

#include <algorithm>
#include <cstdint>

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

// ITU-T H.264 levels.

namespace {

struct H264Level {
  std::string_view name;
  std::int64_t macroblocks_per_second;  // MaxMBPS
  std::int64_t frame_macroblocks;       // MaxFS
  std::int64_t dpb_macroblocks;         // MaxDpbMbs
  std::int64_t bit_rate;                // MaxBR, times the profile's factor bit/s
};

// ITU-T H.264 Table A-1, as in FFmpeg libavcodec/h264_levels.c.
constexpr std::array kH264Levels{
    H264Level{"1", 1485, 99, 396, 64},
    H264Level{"1b", 1485, 99, 396, 128},
    H264Level{"1.1", 3000, 396, 900, 192},
    H264Level{"1.2", 6000, 396, 2376, 384},
    H264Level{"1.3", 11880, 396, 2376, 768},
    H264Level{"2", 11880, 396, 2376, 2000},
    H264Level{"2.1", 19800, 792, 4752, 4000},
    H264Level{"2.2", 20250, 1620, 8100, 4000},
    H264Level{"3", 40500, 1620, 8100, 10000},
    H264Level{"3.1", 108000, 3600, 18000, 14000},
    H264Level{"3.2", 216000, 5120, 20480, 20000},
    H264Level{"4", 245760, 8192, 32768, 20000},
    H264Level{"4.1", 245760, 8192, 32768, 50000},
    H264Level{"4.2", 522240, 8704, 34816, 50000},
    H264Level{"5", 589824, 22080, 110400, 135000},
    H264Level{"5.1", 983040, 36864, 184320, 240000},
    H264Level{"5.2", 2073600, 36864, 184320, 240000},
    H264Level{"6", 4177920, 139264, 696320, 240000},
    H264Level{"6.1", 8355840, 139264, 696320, 480000},
    H264Level{"6.2", 16711680, 139264, 696320, 800000},
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
      LimitNeed{"raster", LowestLevel(kH264Levels,
                                      [&](const H264Level& level) {
                                        // A.3.1: neither side beyond sqrt(8 x MaxFS)
                                        const std::int64_t side = 8 * level.frame_macroblocks;
                                        return frame <= level.frame_macroblocks &&
                                               across * across <= side && down * down <= side;
                                      })},
      LimitNeed{"picture rate", LowestLevel(kH264Levels,
                                            [&](const H264Level& level) {
                                              return base::ProductAtMost(
                                                  picture.rate, frame,
                                                  level.macroblocks_per_second);
                                            })},
      LimitNeed{"bit rate", LowestLevel(kH264Levels,
                                        [&](const H264Level& level) {
                                          return picture.bitrate_kbps * std::int64_t{1000} <=
                                                 level.bit_rate * factor;
                                        })},
      LimitNeed{"frames in flight", LowestLevel(kH264Levels,
                                                [&](const H264Level& level) {
                                                  return picture.reference_pictures <=
                                                         std::min(level.dpb_macroblocks / frame,
                                                                  kMostDpbFrames);
                                                })},
  };
  return HighestOf(needs, LevelNames(kH264Levels), frame <= kMaxFs1080p ? "4.2" : "5.2");
}

// ITU-T H.265 levels, Main tier.

namespace {

struct HevcLevel {
  std::string_view name;
  std::int64_t luma_samples;             // MaxLumaPs
  std::int64_t luma_samples_per_second;  // MaxLumaSr
  std::int64_t main_kbps;                // MaxBR of the Main tier, CpbVclFactor 1000
};

// ITU-T H.265 Tables A.8 and A.9, as in FFmpeg libavcodec/h265_profile_level.c.
constexpr std::array kHevcLevels{
    HevcLevel{"1", 36864, 552960, 128},
    HevcLevel{"2", 122880, 3686400, 1500},
    HevcLevel{"2.1", 245760, 7372800, 3000},
    HevcLevel{"3", 552960, 16588800, 6000},
    HevcLevel{"3.1", 983040, 33177600, 10000},
    HevcLevel{"4", 2228224, 66846720, 12000},
    HevcLevel{"4.1", 2228224, 133693440, 20000},
    HevcLevel{"5", 8912896, 267386880, 25000},
    HevcLevel{"5.1", 8912896, 534773760, 40000},
    HevcLevel{"5.2", 8912896, 1069547520, 60000},
    HevcLevel{"6", 35651584, 1069547520, 60000},
    HevcLevel{"6.1", 35651584, 2139095040, 120000},
    HevcLevel{"6.2", 35651584, 4278190080, 240000},
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
      LimitNeed{"raster", LowestLevel(kHevcLevels,
                                      [&](const HevcLevel& level) {
                                        // A.4.1: neither side beyond sqrt(8 x MaxLumaPs)
                                        const std::int64_t side = 8 * level.luma_samples;
                                        return samples <= level.luma_samples &&
                                               width * width <= side && height * height <= side;
                                      })},
      LimitNeed{"picture rate", LowestLevel(kHevcLevels,
                                            [&](const HevcLevel& level) {
                                              return base::ProductAtMost(
                                                  picture.rate, samples,
                                                  level.luma_samples_per_second);
                                            })},
      LimitNeed{"bit rate", LowestLevel(kHevcLevels,
                                        [&](const HevcLevel& level) {
                                          return picture.bitrate_kbps <= level.main_kbps;
                                        })},
      LimitNeed{"frames in flight", LowestLevel(kHevcLevels,
                                                [&](const HevcLevel& level) {
                                                  // one of the DPB's pictures is the current one
                                                  return picture.reference_pictures + 1 <=
                                                         DpbPictures(samples, level.luma_samples);
                                                })},
  };
  return HighestOf(needs, LevelNames(kHevcLevels), "5.1");
}

// AV1 levels, Main tier.

namespace {

struct Av1Level {
  std::string_view name;
  std::int64_t picture_samples;     // MaxPicSize
  std::int64_t width;               // MaxHSize
  std::int64_t height;              // MaxVSize
  std::int64_t samples_per_second;  // MaxDisplayRate
  std::int64_t main_kbps;           // MainMbps x 1000
};

// AV1 specification annex A.3, as in FFmpeg libavcodec/av1_levels.c. The
// decode rate is left out: encoders keep hidden frames within it.
constexpr std::array kAv1Levels{
    Av1Level{"2.0", 147456, 2048, 1152, 4423680, 1500},
    Av1Level{"2.1", 278784, 2816, 1584, 8363520, 3000},
    Av1Level{"3.0", 665856, 4352, 2448, 19975680, 6000},
    Av1Level{"3.1", 1065024, 5504, 3096, 31950720, 10000},
    Av1Level{"4.0", 2359296, 6144, 3456, 70778880, 12000},
    Av1Level{"4.1", 2359296, 6144, 3456, 141557760, 20000},
    Av1Level{"5.0", 8912896, 8192, 4352, 267386880, 30000},
    Av1Level{"5.1", 8912896, 8192, 4352, 534773760, 40000},
    Av1Level{"5.2", 8912896, 8192, 4352, 1069547520, 60000},
    Av1Level{"6.0", 35651584, 16384, 8704, 1069547520, 60000},
    Av1Level{"6.1", 35651584, 16384, 8704, 2139095040, 100000},
    Av1Level{"6.2", 35651584, 16384, 8704, 4278190080, 160000},
};

}  // namespace

LevelNeed Av1LevelOf(const EncodedPicture& picture) {
  const Raster& raster = picture.raster;
  const std::array needs{
      LimitNeed{"raster", LowestLevel(kAv1Levels,
                                      [&](const Av1Level& level) {
                                        return raster.Pixels() <= level.picture_samples &&
                                               raster.width <= level.width &&
                                               raster.height <= level.height;
                                      })},
      LimitNeed{"picture rate", LowestLevel(kAv1Levels,
                                            [&](const Av1Level& level) {
                                              return base::ProductAtMost(picture.rate,
                                                                         raster.Pixels(),
                                                                         level.samples_per_second);
                                            })},
      LimitNeed{"bit rate", LowestLevel(kAv1Levels,
                                        [&](const Av1Level& level) {
                                          return picture.bitrate_kbps <= level.main_kbps;
                                        })},
  };
  return HighestOf(needs, LevelNames(kAv1Levels), "5.1");
}

}  // namespace profiles
