// SPDX-License-Identifier: Apache-2.0
//
// When two pictures show the same, and stretches of such pictures.

#include "probes/picture_content.h"

#include <cstdint>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace probes {
namespace {

using testing::SizeIs;

constexpr int kWidth = 70;  // no multiple of a block
constexpr int kHeight = 37;

LumaPlane Plane(const std::vector<std::uint8_t>& samples, int step = 1, int depth = 8) {
  return {
      samples.data(), static_cast<std::ptrdiff_t>(kWidth) * step, kWidth, kHeight, step, depth, 0};
}

std::vector<std::uint8_t> Grey() {
  return std::vector<std::uint8_t>(kWidth * kHeight, 100);
}

TEST(SamePicture, OneCodeEverywhereIsTheSame) {
  const auto left = Grey();
  auto right = Grey();
  EXPECT_TRUE(SamePicture(Plane(left), Plane(right), 1));
  for (auto& sample : right) {
    sample = 101;
  }
  EXPECT_TRUE(SamePicture(Plane(left), Plane(right), 1));
  right[0] = 103;
  EXPECT_FALSE(SamePicture(Plane(left), Plane(right), 1));
}

TEST(SamePicture, OneBlockThatMovedIsAnotherPicture) {
  const auto left = Grey();
  auto right = Grey();
  for (int x = kWidth - 6; x < kWidth; ++x) {
    right[static_cast<std::size_t>((kHeight - 1) * kWidth + x)] = 200;  // in the last, small block
  }
  EXPECT_FALSE(SamePicture(Plane(left), Plane(right), 1));
}

TEST(SamePicture, TenBitsAreScaled) {
  std::vector<std::uint8_t> left(kWidth * kHeight * 2, 0);
  auto right = left;
  for (std::size_t i = 0; i < right.size(); i += 2) {
    right[i] = 4;  // 4 of 1023 are below 1 of 255
  }
  EXPECT_TRUE(SamePicture(Plane(left, 2, 10), Plane(right, 2, 10), 1));
  for (std::size_t i = 0; i < right.size(); i += 2) {
    right[i] = 5;
  }
  EXPECT_FALSE(SamePicture(Plane(left, 2, 10), Plane(right, 2, 10), 1));
}

TEST(SamePicture, OtherFormsAreNeverTheSame) {
  const auto left = Grey();
  LumaPlane smaller = Plane(left);
  smaller.height -= 1;
  EXPECT_FALSE(SamePicture(Plane(left), smaller, 255));
}

TEST(StillWatch, TellsRepeatsFromStillStretches) {
  StillWatch watch;
  for (int i = 0; i < 100; ++i) {
    const bool same = i == 10 || i == 11 || (i >= 40 && i < 60);
    watch.Add(100 + i * 0.04, same, i == 5);
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

TEST(StillWatch, ARecordingMayEndStandingStill) {
  StillWatch watch;
  for (int i = 0; i < 50; ++i) {
    watch.Add(i * 0.04, i >= 25, false);
  }
  const auto content = watch.Finish(0);
  EXPECT_EQ(content.frozen, 25);
  EXPECT_NEAR(content.stretches.at(0).length_s, 1.0, 1e-9);
}

}  // namespace
}  // namespace probes
