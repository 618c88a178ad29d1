// SPDX-License-Identifier: Apache-2.0
//
// How far pictures are apart, and stretches of pictures that show the same.

#include "probes/recording/picture_content.h"

#include <cstdint>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace probes {
namespace {

using testing::SizeIs;

constexpr int kWidth = 70;  // no multiple of a block
constexpr int kHeight = 37;
constexpr std::size_t kSamples = std::size_t{kWidth} * kHeight;

LumaPlane Plane(const std::vector<std::uint8_t>& samples, int step = 1, int depth = 8) {
  return {
      samples.data(), static_cast<std::ptrdiff_t>(kWidth) * step, kWidth, kHeight, step, depth, 0};
}

std::vector<std::uint8_t> Grey() {
  return std::vector<std::uint8_t>(kSamples, 100);
}

double Most(const std::vector<std::uint8_t>& left, const std::vector<std::uint8_t>& right,
            int step = 1, int depth = 8) {
  return DifferenceOf(Plane(left, step, depth), Plane(right, step, depth)).value().most;
}

TEST(DifferenceOf, IsTheMeanOfTheBlockThatDiffersMost) {
  const auto left = Grey();
  auto right = Grey();
  EXPECT_EQ(Most(left, right), 0);
  for (auto& sample : right) {
    sample = 101;
  }
  EXPECT_DOUBLE_EQ(Most(left, right), 1);
  right[0] = 102;
  EXPECT_DOUBLE_EQ(Most(left, right), 1 + 1.0 / 256);
}

TEST(DifferenceOf, SmallBlocksAtTheEdgeCount) {
  const auto left = Grey();
  auto right = Grey();
  right[kSamples - 1] = 130;  // the last block is 6 x 5
  EXPECT_DOUBLE_EQ(Most(left, right), 1);
  EXPECT_EQ(DifferenceOf(Plane(left), Plane(right))->quarter, 0);
}

TEST(DifferenceOf, TenBitsAreScaled) {
  std::vector<std::uint8_t> left(2 * kSamples, 0);
  auto right = left;
  for (std::size_t i = 0; i < right.size(); i += 2) {
    right[i] = 4;
  }
  EXPECT_NEAR(Most(left, right, 2, 10), 4 * 255.0 / 1023, 1e-9);
}

TEST(DifferenceOf, OtherFormsCannotBeCompared) {
  const auto left = Grey();
  LumaPlane smaller = Plane(left);
  smaller.height -= 1;
  EXPECT_FALSE(DifferenceOf(Plane(left), smaller));
  LumaPlane none = Plane(left);
  none.width = 0;
  EXPECT_FALSE(DifferenceOf(none, none));
}

constexpr PictureDifference kSame{0.5, 0, 0.1};
constexpr PictureDifference kNew{20, 0.1, 0.2};

TEST(StillWatch, TellsRepeatsFromStillStretches) {
  StillWatch watch;
  for (int i = 0; i < 100; ++i) {
    const bool same = i == 10 || i == 11 || (i >= 40 && i < 60);
    watch.Add(100 + i * 0.04, same ? kSame : kNew, i == 5);
  }
  const auto content = watch.Finish(100);
  EXPECT_EQ(content.decoded, 100);
  EXPECT_EQ(content.damaged, 1);
  EXPECT_EQ(content.repeated, 2);
  EXPECT_EQ(content.frozen, 20);
  ASSERT_THAT(content.stretches, SizeIs(2));
  EXPECT_NEAR(content.stretches[1].at_s, 1.6, 1e-9);
  EXPECT_NEAR(content.stretches[1].length_s, 0.8, 1e-9);
}

TEST(StillWatch, NoiseThatIsThereOtherwiseSetsTheLimit) {
  StillWatch noisy;
  StillWatch clean;
  for (int i = 0; i < 50; ++i) {
    // A repeat that the encoder brings back within 3 codes, among pictures of 8 codes of noise.
    noisy.Add(i * 0.04, i == 30 ? PictureDifference{3, 1, 2} : PictureDifference{5, 8, 9}, false);
    clean.Add(i * 0.04, i == 30 ? PictureDifference{3, 1, 2} : PictureDifference{5, 0, 9}, false);
  }
  EXPECT_EQ(noisy.Finish(0).repeated, 1);
  EXPECT_EQ(clean.Finish(0).repeated, 0);  // there 3 codes are something that moved
}

TEST(StillWatch, WhatChangesFarLessThanTheOthersIsARepeat) {
  StillWatch watch;
  for (int i = 0; i < 60; ++i) {
    // Moving pictures; one that an encoder refined, and one where only a part stood still.
    const PictureDifference difference = i == 30   ? PictureDifference{8, 0.2, 0.5}
                                         : i == 40 ? PictureDifference{25, 0.2, 0.5}
                                                   : PictureDifference{30, 2, 6};
    watch.Add(i * 0.04, difference, false);
  }
  EXPECT_EQ(watch.Finish(0).repeated, 1);
}

TEST(StillWatch, ARecordingMayEndStandingStill) {
  StillWatch watch;
  for (int i = 0; i < 50; ++i) {
    watch.Add(i * 0.04, i >= 25 ? kSame : kNew, false);
  }
  const auto content = watch.Finish(0);
  EXPECT_EQ(content.frozen, 25);
  EXPECT_NEAR(content.stretches.at(0).length_s, 1.0, 1e-9);
}

}  // namespace
}  // namespace probes
