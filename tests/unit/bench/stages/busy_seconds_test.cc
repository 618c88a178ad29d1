// SPDX-License-Identifier: Apache-2.0

#include "bench/stages/busy_seconds.h"

#include <gtest/gtest.h>

namespace bench {
namespace {

constexpr std::int64_t kMs = 1'000'000;

TEST(BusySeconds, ACallCountsInEverySecondThatItSpans) {
  BusySeconds busy;
  busy.Add(900 * kMs, 2300 * kMs);
  const auto seconds = busy.seconds();
  ASSERT_EQ(seconds.size(), 3U);
  EXPECT_EQ(seconds[0].busy_ns, 100 * kMs);
  EXPECT_EQ(seconds[1].busy_ns, 1000 * kMs);
  EXPECT_EQ(seconds[2].busy_ns, 300 * kMs);
  EXPECT_EQ(seconds[0].calls, 0);
  EXPECT_EQ(seconds[2].calls, 1);
  EXPECT_EQ(seconds[2].longest_ns, 1400 * kMs);
}

TEST(BusySeconds, WhatLiesBeforeTheRunIsLeftOut) {
  BusySeconds busy;
  busy.Add(-50 * kMs, 50 * kMs);
  busy.Add(-50 * kMs, -10 * kMs);
  ASSERT_EQ(busy.seconds().size(), 1U);
  EXPECT_EQ(busy.seconds()[0].busy_ns, 50 * kMs);
  EXPECT_EQ(busy.seconds()[0].calls, 1);
}

TEST(JoinSeconds, PutsEncoderAndWriterSideBySide) {
  BusySeconds encode;
  BusySeconds write;
  encode.Add(0, 400 * kMs);
  encode.Add(500 * kMs, 600 * kMs);
  write.Add(1000 * kMs, 1250 * kMs);
  const auto joined = JoinSeconds(encode, write);
  ASSERT_EQ(joined.size(), 2U);
  EXPECT_EQ(joined[0].encoded, 2);
  EXPECT_DOUBLE_EQ(joined[0].encode_busy, 0.5);
  EXPECT_DOUBLE_EQ(joined[0].encode_longest_ms, 400);
  EXPECT_DOUBLE_EQ(joined[0].write_busy, 0);
  EXPECT_DOUBLE_EQ(joined[1].write_busy, 0.25);
}

}  // namespace
}  // namespace bench
