// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/rate_in_time.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using testing::ElementsAre;
using testing::IsEmpty;

TEST(DiskWindows, IsEmptyBeforeTheFirstWindowIsOver) {
  bench::DiskWindows windows(1000, 100);
  EXPECT_THAT(windows.Rates(1000), IsEmpty());
  windows.Add(1000, 1050, 7);
  EXPECT_THAT(windows.Rates(1099), IsEmpty());
}

TEST(DiskWindows, AddsUpTheWritesOfAWindow) {
  bench::DiskWindows windows(0, 1'000'000'000);
  windows.Add(0, 400'000'000, 30);
  windows.Add(400'000'000, 1'000'000'000, 50);
  windows.Add(1'000'000'000, 1'500'000'000, 20);
  EXPECT_THAT(windows.Rates(2'000'000'000), ElementsAre(80, 20));
}

TEST(DiskWindows, ShowsAStallInEveryWindowItCovers) {
  bench::DiskWindows windows(0, 1'000'000'000);
  windows.Add(500'000'000, 3'500'000'000, 30);
  EXPECT_THAT(windows.Rates(4'000'000'000), ElementsAre(5, 10, 10, 5));
}

TEST(DiskWindows, CountsTimeWithoutWrites) {
  bench::DiskWindows windows(0, 1'000'000'000);
  windows.Add(0, 1'000'000'000, 10);
  EXPECT_THAT(windows.Rates(3'000'000'000), ElementsAre(10, 0, 0));
}

TEST(DiskWindows, TakesAWriteThatTookNoTime) {
  bench::DiskWindows windows(0, 1000);
  windows.Add(10, 10, 5);
  EXPECT_THAT(windows.Rates(1000), ElementsAre(5e6));
}

}  // namespace
