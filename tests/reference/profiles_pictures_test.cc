// SPDX-License-Identifier: Apache-2.0
//
// Frame sizes, payload rates and SDI links against standards, kernel and FFmpeg.

#include <fstream>
#include <string>

extern "C" {
#include <libavutil/imgutils.h>
#include <libavutil/pixdesc.h>
#include <libswscale/swscale.h>
}

#include <gtest/gtest.h>

#include "base/text.h"
#include "profiles/demand/capture_demand.h"
#include "profiles/demand/sdi_link.h"
#include "profiles/pixel_formats.h"
#include "tests/support/places.h"

namespace profiles {
namespace {

using base::Rational;

constexpr Raster k720{1280, 720};
constexpr Raster k1080{1920, 1080};
constexpr Raster k2160{3840, 2160};
const Rational k5994(60000, 1001);

std::int64_t Bytes(const char* format, const Raster& raster) {
  return FrameBytes(*FindPixelFormat(format), raster);
}

double MegabytesPerSecond(const char* format, const Raster& raster, const Rational& rate) {
  Source source;
  source.raster = raster;
  source.rate = rate;
  source.pixel_format = format;
  return CapturePayloadOf(source).bytes_per_second / 1e6;
}

// Linux 6.12 drivers/media/v4l2-core/v4l2-common.c, measured with ffmpeg 5.1.9 rawvideo.
TEST(FrameBytes, OfRawFormatsAt1080p) {
  EXPECT_EQ(Bytes("yuyv422", k1080), 4147200);
  EXPECT_EQ(Bytes("uyvy422", k1080), 4147200);
  EXPECT_EQ(Bytes("nv12", k1080), 3110400);
  EXPECT_EQ(Bytes("yuv420p", k1080), 3110400);
  EXPECT_EQ(Bytes("p010", k1080), 6220800);
  EXPECT_EQ(Bytes("bgr24", k1080), 6220800);
  EXPECT_EQ(Bytes("bgra", k1080), 8294400);
}

// Bits a pixel of FFmpeg's own descriptors (libavutil/pixdesc.c), padding included; the kernel's
// formats of the same name agree (v4l2-common.c: GREY 8, YVU420 12, YVYU 16, NV21 12, NV24 24,
// RGB565 16, RGB24 24). yv12 is yuv420p with U and V the other way round, in both.
TEST(FrameBytes, AreThoseOfFfmpegForEveryRawFormat) {
  for (const PixelFormat& format : PixelFormats()) {
    if (format.compressed || format.line_rule != LineRule::kPacked) {
      continue;
    }
    const AVPixelFormat pixels = av_get_pix_fmt(std::string(format.ffmpeg_name).c_str());
    ASSERT_NE(pixels, AV_PIX_FMT_NONE) << format.name;
    EXPECT_EQ(FrameBytes(format, k720), av_image_get_buffer_size(pixels, 1280, 720, 1))
        << format.name;
    const AVPixFmtDescriptor& about = *av_pix_fmt_desc_get(pixels);
    EXPECT_EQ(format.width_step, 1 << about.log2_chroma_w) << format.name;
    EXPECT_EQ(format.height_step, 1 << about.log2_chroma_h) << format.name;
    EXPECT_NE(sws_isSupportedOutput(pixels), 0) << format.name;
  }
}

TEST(FrameBytes, OfFormsThatDevicesOfferBeside) {
  EXPECT_EQ(Bytes("gray", k1080), 2073600);
  EXPECT_EQ(Bytes("yv12", k1080), 3110400);
  EXPECT_EQ(FindPixelFormat("grey"), FindPixelFormat("gray"));
  EXPECT_TRUE(FindPixelFormat("hevc")->compressed);
}

// FFmpeg 5.1.9 libavcodec/v210enc.c: lines of 128 bytes for every 48 pixels begun.
TEST(LineBytes, OfV210) {
  const PixelFormat& v210 = *FindPixelFormat("v210");
  EXPECT_EQ(LineBytes(v210, 720), 1920);
  EXPECT_EQ(LineBytes(v210, 1280), 3456);
  EXPECT_EQ(LineBytes(v210, 1920), 5120);
  EXPECT_EQ(LineBytes(v210, 3840), 10240);
}

// The first two measured with ffmpeg -c:v v210, the third from the rule of v210enc.c.
TEST(FrameBytes, OfV210) {
  EXPECT_EQ(Bytes("v210", k720), 2488320);
  EXPECT_EQ(Bytes("v210", k1080), 5529600);
  EXPECT_EQ(Bytes("v210", k2160), 22118400);
}

// 4147200 bytes x 60000/1001: arithmetic on the kernel's 16 bits a pixel.
TEST(CapturePayload, OfYuyvAt1080p5994) {
  EXPECT_NEAR(MegabytesPerSecond("yuyv422", k1080, k5994), 248.583417, 5e-7);
}

// Width x height x bytes x rate with the kernel's bits a pixel, MB/s of 1e6 bytes.
TEST(CapturePayload, OfUsualPictures) {
  EXPECT_NEAR(MegabytesPerSecond("yuyv422", k720, 30), 55.296, 1e-9);
  EXPECT_NEAR(MegabytesPerSecond("yuyv422", k1080, Rational(30000, 1001)), 124.291708, 5e-7);
  EXPECT_NEAR(MegabytesPerSecond("nv12", k1080, 60), 186.624, 1e-9);
  EXPECT_NEAR(MegabytesPerSecond("nv12", k1080, k5994), 186.437562, 5e-7);
  EXPECT_NEAR(MegabytesPerSecond("p010", k2160, 60), 1492.992, 1e-9);
  EXPECT_NEAR(MegabytesPerSecond("bgra", k1080, 60), 497.664, 1e-9);
  EXPECT_NEAR(MegabytesPerSecond("v210", k1080, 60), 331.776, 1e-9);
  EXPECT_NEAR(MegabytesPerSecond("v210", k2160, 60), 1327.104, 1e-9);
}

// Common practice: MJPEG takes a fifth to a twentieth of YUYV.
TEST(CapturePayload, OfMjpegLiesInTheTradesRange) {
  const double ratio =
      MegabytesPerSecond("yuyv422", k1080, 30) / MegabytesPerSecond("mjpeg", k1080, 30);
  EXPECT_GE(ratio, 5);
  EXPECT_LE(ratio, 20);
}

std::int64_t SdiBits(const Raster& raster, const Rational& rate) {
  const auto link = SdiLinkFor(raster, rate);
  return link ? link->bits_per_second : 0;
}

std::string SdiName(const Raster& raster, const Rational& rate) {
  const auto link = SdiLinkFor(raster, rate);
  return link ? std::string(link->name) : "";
}

// 2200 x 1125 x 30 x 20 and 4400 x 2250 x 60 x 20 (SMPTE ST 274, ST 2036-1 totals);
// 1.485/1.001 Gb/s is ST 292-1's other rate.
TEST(SdiLinks, RatesFromTotalRasters) {
  EXPECT_EQ(SdiBits(k1080, 30), 1485000000);
  EXPECT_EQ(SdiBits(k2160, 60), 11880000000);
  EXPECT_NEAR(static_cast<double>(SdiBits(k1080, Rational(30000, 1001))), 1485e6 / 1.001, 0.5);
}

// SMPTE ST 292-1, ST 424, ST 2081, ST 2082 link rates against the rasters (encyclopedia page
// "Serial digital interface"; catalogue scopes of ST 2081-12 and ST 2082-12).
TEST(SdiLinks, SmallestThatCarries) {
  for (const Rational& rate : {Rational(50), k5994, Rational(60)}) {
    EXPECT_EQ(SdiName(k720, rate), "HD-SDI (ST 292-1)");
    EXPECT_EQ(SdiName(k1080, rate), "3G-SDI (ST 424)");
    EXPECT_EQ(SdiName(k2160, rate), "12G-SDI (ST 2082)");
  }
  for (const Rational& rate :
       {Rational(24000, 1001), Rational(24), Rational(25), Rational(30000, 1001), Rational(30)}) {
    EXPECT_EQ(SdiName(k1080, rate), "HD-SDI (ST 292-1)");
    EXPECT_EQ(SdiName(k2160, rate), "6G-SDI (ST 2081)");
  }
}

// The stored table is parsed from Linux 6.12 drivers/gpu/drm/drm_edid.c (edid_cea_modes).
TEST(SdiLinks, AgreeWithTheKernelsTable) {
  std::ifstream in(support::Shared().string() + "/facts/rasters.csv");
  if (!in) {
    GTEST_SKIP() << "no stored table rasters.csv below " << support::Shared();
  }
  std::string line;
  std::getline(in, line);
  int seen = 0;
  while (std::getline(in, line)) {
    const auto cells = base::Split(line, ',');
    ASSERT_EQ(cells.size(), 9U);
    if (cells[3] != "p") {
      continue;
    }
    const auto number = [&](std::size_t i) {
      return base::ParseInt(base::Trim(cells[i])).value_or(0);
    };
    const Raster raster{static_cast<int>(number(1)), static_cast<int>(number(2))};
    EXPECT_EQ(SdiBits(raster, number(4)), number(8)) << line;
    ++seen;
  }
  EXPECT_EQ(seen, 19);
}

// 60 x 3600 against 60000/1001 x 3600: an hour counted as 60 is 215.784 pictures short.
TEST(ExactRates, CountTheFramesOfAnHour) {
  const auto rate = base::ParseRational("60000/1001");
  ASSERT_TRUE(rate);
  EXPECT_NEAR(216000 - base::ToDouble(*rate) * 3600, 215.784216, 1e-6);
}

}  // namespace
}  // namespace profiles
