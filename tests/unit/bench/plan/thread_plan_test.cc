// SPDX-License-Identifier: Apache-2.0

#include "bench/plan/thread_plan.h"

#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace bench {
namespace {

using profiles::Effort;
using testing::HasSubstr;

EncodeWork H264(int width, int height, Effort effort = Effort::kLow) {
  return {"libx264", false, {width, height}, 30, effort};
}

std::vector<int> Threads(const std::vector<EncodeWork>& encodes, double cpus) {
  std::vector<int> threads;
  for (const ThreadChoice& choice : PlanThreads(encodes, cpus)) {
    threads.push_back(choice.threads);
  }
  return threads;
}

// x264 r3095, encoder/encoder.c, where it chooses by itself:
// max_threads = MAX(1, (height + 15) / 16 / 2).
TEST(MostThreads, AreWhatX264AllowsItself) {
  EXPECT_EQ(MostThreads("libx264", {320, 180}), 6);   // 12 rows
  EXPECT_EQ(MostThreads("libx264", {640, 360}), 11);  // 23 rows
  EXPECT_EQ(MostThreads("libx264", {64, 16}), 1);
  EXPECT_EQ(MostThreads("libx264", {1920, 1080}), 16);  // 34 by rows, 16 by common practice
}

// x265 documentation, "Threading": with wavefront, at most one thread per row of CTUs; 64x64.
TEST(MostThreads, AreTheRowsOfX265) {
  EXPECT_EQ(MostThreads("libx265", {320, 180}), 3);
  EXPECT_EQ(MostThreads("libx265", {1280, 720}), 12);
}

TEST(PlanThreads, GivesTheOnlyEncodeEveryCpu) {
  EXPECT_THAT(Threads({H264(1920, 1080)}, 4), testing::ElementsAre(4));
  EXPECT_THAT(PlanThreads({H264(1920, 1080)}, 4)[0].why,
              testing::AllOf(HasSubstr("only software encode"), HasSubstr("4 usable CPUs")));
}

TEST(PlanThreads, SharesByPicturesTimesEffort) {
  // Alike: half the work each, twice the share is all CPUs.
  EXPECT_THAT(Threads({H264(1280, 720), H264(1280, 720)}, 4), testing::ElementsAre(4, 4));
  // The same picture with the most effort is nearly all of the work.
  EXPECT_THAT(Threads({H264(1280, 720, Effort::kLeast), H264(1280, 720, Effort::kHigh)}, 8),
              testing::ElementsAre(1, 8));
}

TEST(PlanThreads, CountsAQuotaAsTheNextWholeCpu) {
  EXPECT_THAT(Threads({H264(1920, 1080)}, 0.3), testing::ElementsAre(1));
  EXPECT_THAT(Threads({H264(1920, 1080)}, 1.5), testing::ElementsAre(2));
}

TEST(PlanThreads, StopsAtTheRowsOfThePictureAndSaysSo) {
  const auto choices = PlanThreads({H264(320, 180)}, 64);
  EXPECT_EQ(choices[0].threads, 6);
  EXPECT_THAT(choices[0].why, HasSubstr("320x180 has rows for no more than 6"));
}

TEST(PlanThreads, HardwareTakesNoShareOfTheCpus) {
  EncodeWork hardware = H264(3840, 2160, Effort::kHigh);
  hardware.encoder = "h264_nvenc";
  hardware.hardware = true;
  EXPECT_THAT(Threads({hardware, H264(1280, 720)}, 4), testing::ElementsAre(1, 4));
}

TEST(PlanThreads, KeepsItsBoundsForAnyMachine) {
  std::mt19937 random(11);
  const std::vector<const char*> encoders{"libx264", "libx265", "libsvtav1", "mjpeg", "null"};
  for (int round = 0; round < 500; ++round) {
    std::vector<EncodeWork> encodes(1 + random() % 8);
    for (EncodeWork& encode : encodes) {
      encode = {encoders[random() % encoders.size()],
                false,
                {static_cast<int>(2 + random() % 8000), static_cast<int>(2 + random() % 4400)},
                static_cast<int>(1 + random() % 240),
                static_cast<Effort>(random() % 4)};
    }
    const double cpus = 0.1 + static_cast<double>(random() % 2560) / 10;
    const auto choices = PlanThreads(encodes, cpus);
    ASSERT_EQ(choices.size(), encodes.size());
    for (std::size_t i = 0; i < choices.size(); ++i) {
      EXPECT_GE(choices[i].threads, 1);
      EXPECT_LE(choices[i].threads, std::max(1.0, std::ceil(cpus)));
      EXPECT_LE(choices[i].threads, MostThreads(encodes[i].encoder, encodes[i].raster));
      EXPECT_FALSE(choices[i].why.empty());
    }
  }
}

}  // namespace
}  // namespace bench
