// SPDX-License-Identifier: Apache-2.0
//
// Codec levels against what encoders write into their streams for the same picture.

#include <memory>
#include <string>

#include <gtest/gtest.h>

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavutil/dict.h>
}

#include "profiles/demand/codec_level.h"

namespace profiles {
namespace {

struct FreeContext {
  void operator()(AVCodecContext* context) const { avcodec_free_context(&context); }
};
using Context = std::unique_ptr<AVCodecContext, FreeContext>;

struct EncoderChoices {
  const char* encoder;
  const char* preset;
  bool bounded = true;  // highest rate = mean rate, as live encoders are set
};

/// Null where this FFmpeg lacks the encoder.
Context Open(const EncodedPicture& picture, const EncoderChoices& choices) {
  const AVCodec* codec = avcodec_find_encoder_by_name(choices.encoder);
  if (codec == nullptr) {
    return nullptr;
  }
  Context context(avcodec_alloc_context3(codec));
  context->width = picture.raster.width;
  context->height = picture.raster.height;
  context->pix_fmt = AV_PIX_FMT_YUV420P;
  context->framerate = {static_cast<int>(picture.rate.numerator()),
                        static_cast<int>(picture.rate.denominator())};
  context->time_base = av_inv_q(context->framerate);
  context->bit_rate = picture.bitrate_kbps * 1000LL;
  if (choices.bounded) {
    context->rc_max_rate = context->bit_rate;
    context->rc_buffer_size = static_cast<int>(context->bit_rate);
  }
  context->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;
  context->thread_count = 1;
  AVDictionary* options = nullptr;
  av_dict_set(&options, "preset", choices.preset, 0);
  av_dict_set(&options, "x265-params", "log-level=none:pools=none:frame-threads=1:high-tier=0", 0);
  const int code = avcodec_open2(context.get(), codec, &options);
  av_dict_free(&options);
  return code < 0 ? nullptr : std::move(context);
}

/// Bytes behind the start code of the first unit whose masked first byte is `kind`.
const std::uint8_t* FindUnit(const AVCodecContext& context, int mask, int kind) {
  const std::uint8_t* data = context.extradata;
  for (int i = 0; i + 20 < context.extradata_size; ++i) {
    if (data[i] == 0 && data[i + 1] == 0 && data[i + 2] == 1 && (data[i + 3] & mask) == kind) {
      return data + i + 3;
    }
  }
  return nullptr;
}

/// "4.2" of level_idc 42. H.264 7.4.2.1.1: the third byte behind the SPS's unit header.
std::string H264LevelIn(const AVCodecContext& context) {
  const std::uint8_t* sps = FindUnit(context, 0x1F, 7);
  if (sps == nullptr) {
    return "no SPS";
  }
  const int idc = sps[3];
  const std::string whole = std::to_string(idc / 10);
  return idc == 9 ? "1b" : idc % 10 == 0 ? whole : whole + "." + std::to_string(idc % 10);
}

struct Case {
  Raster raster;
  base::Rational rate;
  int kbps;
};

class Libx264Level : public ::testing::TestWithParam<Case> {
 protected:
  void Expect(const char* preset, int references, bool high_profile) {
    const auto [raster, rate, kbps] = GetParam();
    const EncodedPicture picture{raster, rate, kbps, references, high_profile};
    const Context context = Open(picture, {"libx264", preset});
    if (context == nullptr) {
      GTEST_SKIP() << "this FFmpeg has no libx264 that opens";
    }
    EXPECT_EQ(H264LevelOf(picture).level, H264LevelIn(*context));
  }
};

// libx264 (Debian 12, build 164) chooses its level in encoder/set.c from the
// same table: macroblock rate, frame size, DPB, and bit rate by its VBV. The
// presets also check ReferencePictures and NeedsHighProfile.
TEST_P(Libx264Level, IsTheSameAtLeastEffort) {
  Expect("ultrafast", ReferencePictures(Effort::kLeast), NeedsHighProfile(Effort::kLeast));
}

TEST_P(Libx264Level, IsTheSameAtLowEffort) {
  Expect("superfast", ReferencePictures(Effort::kLow), NeedsHighProfile(Effort::kLow));
}

TEST_P(Libx264Level, IsTheSameAtMediumEffort) {
  Expect("veryfast", ReferencePictures(Effort::kMedium), NeedsHighProfile(Effort::kMedium));
}

TEST_P(Libx264Level, IsTheSameAtHighEffort) {
  Expect("medium", ReferencePictures(Effort::kHigh), NeedsHighProfile(Effort::kHigh));
}

// Preset "slow" keeps five references, more than level 4.2 holds of 1080p.
TEST_P(Libx264Level, IsTheSameWithFiveReferences) {
  Expect("slow", 5, true);
}

const base::Rational k5994(60000, 1001);
const base::Rational k2997(30000, 1001);

INSTANTIATE_TEST_SUITE_P(
    Pictures, Libx264Level,
    ::testing::Values(Case{{640, 360}, 25, 800}, Case{{640, 360}, 60, 12000},
                      Case{{854, 480}, 30, 1500}, Case{{1280, 720}, 25, 6000},
                      Case{{1280, 720}, 30, 14001}, Case{{1280, 720}, k5994, 4000},
                      Case{{1280, 720}, 60, 30000}, Case{{1920, 1080}, 25, 8000},
                      Case{{1920, 1080}, k2997, 20000}, Case{{1920, 1080}, 30, 30000},
                      Case{{1920, 1080}, k5994, 40000}, Case{{1920, 1080}, 60, 65000},
                      Case{{2560, 1440}, 30, 24000}));

// Large pictures once: opening them takes memory.
TEST(Libx264LevelOf2160p, IsTheSame) {
  const EncodedPicture picture{{3840, 2160}, 30, 60000, ReferencePictures(Effort::kLow)};
  const Context context = Open(picture, {"libx264", "veryfast"});
  if (context == nullptr) {
    GTEST_SKIP() << "this FFmpeg has no libx264 that opens";
  }
  EXPECT_EQ(H264LevelOf(picture).level, H264LevelIn(*context));
}

// A legitimate difference: without a VBV the highest rate is unknown, and
// libx264 guesses twice the mean (encoder/set.c, x264_sps_init's caller).
// 20 Mb/s fit level 4 (25 Mb/s); twice that asks for 4.1.
TEST(Libx264LevelWithoutVbv, IsThatOfTwiceTheRate) {
  const EncodedPicture picture{{1920, 1080}, 25, 20000, ReferencePictures(Effort::kLow)};
  const Context context = Open(picture, {"libx264", "veryfast", false});
  if (context == nullptr) {
    GTEST_SKIP() << "this FFmpeg has no libx264 that opens";
  }
  EXPECT_EQ(H264LevelOf(picture).level, "4");
  EncodedPicture doubled = picture;
  doubled.bitrate_kbps *= 2;
  EXPECT_EQ(H264LevelOf(doubled).level, H264LevelIn(*context));
}

/// "4.1" of general_level_idc 123 (30 x level). H.265 7.3.2.2 and 7.3.3: behind
/// the SPS's 2 bytes of unit header, 1 of ids, 1 of profile, 4 of
/// compatibility, 6 of constraints; emulation prevention bytes taken out.
std::string HevcLevelIn(const AVCodecContext& context) {
  const std::uint8_t* sps = FindUnit(context, 0x7E, 33 << 1);
  if (sps == nullptr) {
    return "no SPS";
  }
  std::string bytes;
  for (const std::uint8_t* at = sps; bytes.size() < 15; ++at) {
    const std::size_t size = bytes.size();
    if (*at == 3 && size >= 2 && bytes[size - 1] == 0 && bytes[size - 2] == 0) {
      continue;
    }
    bytes += static_cast<char>(*at);
  }
  const int tenths = static_cast<unsigned char>(bytes[14]) / 3;
  const std::string whole = std::to_string(tenths / 10);
  return tenths % 10 == 0 ? whole : whole + "." + std::to_string(tenths % 10);
}

class Libx265Level : public ::testing::TestWithParam<Case> {};

// libx265 chooses in encoder/level.cpp from H.265 Tables A.8 and A.9. Left to
// itself it would take a lower level of the High tier where the bit rate alone
// asks for more (15 Mb/s at 1080p30): a legitimate difference, since common
// players take the Main tier; so it is told to stay there.
TEST_P(Libx265Level, IsTheSame) {
  const auto [raster, rate, kbps] = GetParam();
  const EncodedPicture picture{raster, rate, kbps, ReferencePictures(Effort::kLow)};
  const Context context = Open(picture, {"libx265", "ultrafast"});
  if (context == nullptr) {
    GTEST_SKIP() << "this FFmpeg has no libx265 that opens";
  }
  EXPECT_EQ(HevcLevelOf(picture).level, HevcLevelIn(*context));
}

INSTANTIATE_TEST_SUITE_P(Pictures, Libx265Level,
                         ::testing::Values(Case{{1280, 720}, 30, 4000}, Case{{1280, 720}, 60, 8000},
                                           Case{{1920, 1080}, 25, 10000},
                                           Case{{1920, 1080}, 30, 15000},
                                           Case{{1920, 1080}, k5994, 20000}));

}  // namespace
}  // namespace profiles
