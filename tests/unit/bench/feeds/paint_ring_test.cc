// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/paint_ring.h"

#include <cstring>

#include <gtest/gtest.h>

#include "bench/stages/picture_scaler.h"

namespace {

constexpr profiles::Raster kRaster{64, 64};

bool Same(const AVFrame& one, const AVFrame& other) {
  for (int plane = 0; plane < 3; ++plane) {
    const int rows = plane == 0 ? kRaster.height : kRaster.height / 2;
    const auto columns = static_cast<std::size_t>(plane == 0 ? kRaster.width : kRaster.width / 2);
    for (int y = 0; y < rows; ++y) {
      if (std::memcmp(one.data[plane] + y * one.linesize[plane],
                      other.data[plane] + y * other.linesize[plane], columns) != 0) {
        return false;
      }
    }
  }
  return true;
}

TEST(PaintRing, GivesThePicturesOfOnePainterHoweverManyWork) {
  const bench::Painter painter(profiles::Content::kStage, kRaster.width, kRaster.height, 3);
  const auto pictures = bench::PaintRing(painter, kRaster, 2, 5, 12, 4);
  ASSERT_TRUE(pictures);
  ASSERT_EQ(pictures->size(), 5U);
  for (int i = 0; i < 5; ++i) {
    auto alone = base::NewPicture(bench::kWorkingFormat, kRaster.width, kRaster.height);
    ASSERT_TRUE(alone);
    painter.Paint(2 + i, 12, **alone);
    EXPECT_TRUE(Same(**alone, *(*pictures)[static_cast<std::size_t>(i)])) << i;
  }
  EXPECT_FALSE(Same(*(*pictures)[0], *(*pictures)[1]));
}

}  // namespace
