// SPDX-License-Identifier: Apache-2.0
//
// The rate's 95 % interval against tables of Student's t, signatures against lines that kernels
// wrote, and format codes against the kernel's own header.

#include <linux/videodev2.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/line/kernel_log.h"
#include "probes/line/v4l2_formats.h"
#include "probes/line/v4l2_pictures.h"
#include "tests/support/places.h"

namespace {

using probes::PictureStamp;

/// Batches of one second each: `intervals_ms` between the pictures of each, one after another.
probes::LineRate RateOfBatches(const std::vector<double>& intervals_ms) {
  std::vector<PictureStamp> pictures{{0, 1'000'000'000, 1'000'000'000, 1, false}};
  for (double interval_ms : intervals_ms) {
    for (int i = 0; i < std::lround(1000 / interval_ms); ++i) {
      PictureStamp next = pictures.back();
      ++next.number;
      next.timestamp_ns += std::llround(interval_ms * 1e6);
      next.arrived_ns = next.timestamp_ns;
      pictures.push_back(next);
    }
  }
  probes::PictureRule rule;
  rule.asked_per_second = 10;
  rule.start_seconds = 0;
  const auto sums = probes::SumPictures(pictures, rule);
  return sums.delivered_rate.value_or({});
}

TEST(LineRate, IntervalIsStudentsOfTheBatches) {
  // Intervals of 100 and 125 ms: batches of 10 and 8 frames a second, five of each. Mean of the
  // batches' rates 9, standard deviation sqrt(10/9).
  const probes::LineRate rate = RateOfBatches({100, 125, 100, 125, 100, 125, 100, 125, 100, 125});
  ASSERT_TRUE(rate.low && rate.high);
  // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, critical values of Student's t:
  // nine degrees of freedom, 0.975: 2.262.
  const double half = 2.262 * std::sqrt(10.0 / 9) / std::sqrt(10);
  EXPECT_NEAR((*rate.high - *rate.low) / 2, half, 0.001 * half);
  // 90 pictures in 10 s.
  EXPECT_NEAR(rate.per_second, 9, 1e-9);
}

TEST(LineRate, TooFewBatchesHaveNoInterval) {
  EXPECT_FALSE(RateOfBatches({100, 125, 100, 125}).low);
}

TEST(Fourcc, CodesAreThoseOfTheKernelsHeader) {
  using probes::PixelFormatOfFourcc;
  EXPECT_EQ(probes::FourccCode("YUYV"), std::uint32_t{V4L2_PIX_FMT_YUYV});
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_YUYV), "yuyv422");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_UYVY), "uyvy422");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_NV12), "nv12");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_NV12M), "nv12");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_YUV420), "yuv420p");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_YUV420M), "yuv420p");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_P010), "p010");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_BGR24), "bgr24");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_ABGR32), "bgra");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_MJPEG), "mjpeg");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_JPEG), "mjpeg");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_H264), "h264");
  EXPECT_EQ(PixelFormatOfFourcc(V4L2_PIX_FMT_GREY), "gray");
}

std::vector<std::string> LinesOf(const std::string& path) {
  std::vector<std::string> lines;
  std::ifstream file(path);
  for (std::string line; std::getline(file, line);) {
    lines.push_back(line);
  }
  return lines;
}

TEST(KernelSignatures, MatchLinesMadeFromTheKernelsOwnTexts) {
  // One line per signature, filled in from the format strings of Linux 6.12.
  const std::string folder = support::Shared().string() + "/signs/";
  const auto samples = LinesOf(folder + "log_signatures.csv.samples");
  const auto rows = LinesOf(folder + "log_signatures.csv");
  if (samples.empty() || rows.size() < samples.size() + 1) {
    GTEST_SKIP() << "SKIPPED: no sample lines in " << folder;
  }
  for (const probes::KernelSignature& signature : probes::KernelSignatures()) {
    const auto row = std::find_if(rows.begin() + 1, rows.end(), [&](const std::string& each) {
      return each.find(signature.pattern) < 2;  // first field, perhaps behind a quote
    });
    ASSERT_NE(row, rows.end()) << signature.pattern;
    const std::string& sample = samples[static_cast<std::size_t>(row - rows.begin()) - 1];
    const auto match = probes::MatchKernelLine(sample);
    ASSERT_TRUE(match) << sample;
    EXPECT_EQ(match->meaning, signature.meaning) << sample;
    EXPECT_NE(row->find(std::string(",") + signature.cause + ","), std::string::npos) << *row;
  }
}

}  // namespace
