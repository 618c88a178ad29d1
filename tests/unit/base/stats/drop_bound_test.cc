// SPDX-License-Identifier: Apache-2.0

#include "base/stats/drop_bound.h"

#include <cmath>

#include <gtest/gtest.h>

namespace {

TEST(DropsPerHourUpper95, ScalesWithTheTimeRun) {
  EXPECT_DOUBLE_EQ(base::DropsPerHourUpper95(4, 60), 60 * base::DropsPerHourUpper95(4, 3600));
}

TEST(DropsPerHourUpper95, IsUnboundedWithoutARun) {
  EXPECT_TRUE(std::isinf(base::DropsPerHourUpper95(0, 0)));
  EXPECT_TRUE(std::isinf(base::DropsPerHourUpper95(0, -1)));
  EXPECT_TRUE(std::isinf(base::DropsPerHourUpper95(0, std::nan(""))));
}

TEST(DropsPerHourUpper95, IsAboveWhatWasCounted) {
  for (const int drops : {0, 1, 7, 100, 1'000'000}) {
    EXPECT_GT(base::DropsPerHourUpper95(drops, 3600), drops);
  }
  EXPECT_EQ(base::DropsPerHourUpper95(-3, 3600), base::DropsPerHourUpper95(0, 3600));
}

TEST(SecondsToProve, IsTheRunThatJustBoundsTheRate) {
  const double seconds = base::SecondsToProve(1.5);
  EXPECT_NEAR(base::DropsPerHourUpper95(0, seconds), 1.5, 1e-12);
}

TEST(SecondsToProve, IsForeverForNone) {
  EXPECT_TRUE(std::isinf(base::SecondsToProve(0)));
  EXPECT_TRUE(std::isinf(base::SecondsToProve(-1)));
}

}  // namespace
