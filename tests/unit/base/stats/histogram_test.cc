// SPDX-License-Identifier: Apache-2.0

#include "base/stats/histogram.h"

#include <cmath>
#include <cstdint>
#include <random>
#include <vector>

#include <gtest/gtest.h>

#include "base/stats/percentile.h"

namespace {

TEST(Histogram, IsEmptyAtFirst) {
  const base::Histogram histogram;
  EXPECT_EQ(histogram.Count(), 0);
  EXPECT_EQ(histogram.Max(), 0);
  EXPECT_EQ(histogram.Percentile(50), 0);
  EXPECT_TRUE(histogram.Buckets().empty());
}

TEST(Histogram, IsExactBelow128) {
  base::Histogram histogram;
  for (std::int64_t value = 0; value < 128; ++value) {
    histogram.Record(value);
  }
  for (std::int64_t rank = 1; rank <= 128; ++rank) {
    EXPECT_EQ(histogram.Percentile(static_cast<double>(rank) / 128 * 100), rank - 1);
  }
}

TEST(Histogram, AnswersWithin128thOfTheSortedSamples) {
  std::mt19937_64 random(1871);
  std::uniform_real_distribution<double> exponent(0, std::log(1e12));
  base::Histogram histogram;
  std::vector<double> samples;
  for (int i = 0; i < 20'000; ++i) {
    const auto value = static_cast<std::int64_t>(std::exp(exponent(random)));
    samples.push_back(static_cast<double>(value));
    histogram.Record(value);
  }
  for (const double percent : {0.0, 0.1, 1.0, 5.0, 25.0, 50.0, 75.0, 95.0, 99.0, 99.9, 100.0}) {
    const double exact = base::Percentile(samples, percent);
    EXPECT_NEAR(static_cast<double>(histogram.Percentile(percent)), exact, exact / 128) << percent;
  }
}

TEST(Histogram, KeepsTheBoundAtEveryPowerOfTwo) {
  for (int bit = 0; bit < 40; ++bit) {
    for (const std::int64_t value :
         {(std::int64_t{1} << bit) - 1, std::int64_t{1} << bit, (std::int64_t{1} << bit) + 1}) {
      if (value > base::Histogram::kLargestNs) {
        continue;
      }
      base::Histogram histogram;
      histogram.Record(value);
      histogram.Record(base::Histogram::kLargestNs);  // so that the maximum does not help
      EXPECT_NEAR(static_cast<double>(histogram.Percentile(50)), static_cast<double>(value),
                  static_cast<double>(value) / 128);
      const auto bucket = histogram.Buckets().front();
      EXPECT_LE(bucket.low_ns, value);
      EXPECT_GE(bucket.up_to_ns, value);
    }
  }
}

TEST(Histogram, BucketsJoinWithoutGapOrOverlap) {
  base::Histogram histogram;
  for (std::int64_t value = 0; value < 5000; ++value) {
    histogram.Record(value);
  }
  std::int64_t next = 0;
  std::int64_t counted = 0;
  for (const auto& bucket : histogram.Buckets()) {
    EXPECT_EQ(bucket.low_ns, next);
    next = bucket.up_to_ns + 1;
    counted += bucket.count;
  }
  EXPECT_EQ(counted, 5000);
}

TEST(Histogram, CountsValuesBeyondItsRangeAtItsEnds) {
  base::Histogram histogram;
  histogram.Record(-5);
  histogram.Record(INT64_MAX);
  EXPECT_EQ(histogram.Count(), 2);
  EXPECT_EQ(histogram.Percentile(1), 0);
  EXPECT_EQ(histogram.Max(), base::Histogram::kLargestNs);
}

TEST(Histogram, MaximumIsExact) {
  base::Histogram histogram;
  histogram.Record(16'683'351);
  EXPECT_EQ(histogram.Max(), 16'683'351);
  EXPECT_LE(histogram.Percentile(100), 16'683'351);
}

TEST(Histogram, AddsWhatAnotherHasCounted) {
  base::Histogram first;
  base::Histogram second;
  first.Record(10);
  second.Record(20);
  second.Record(30);
  first.Add(second);
  EXPECT_EQ(first.Count(), 3);
  EXPECT_EQ(first.Percentile(50), 20);
  EXPECT_EQ(first.Max(), 30);
}

}  // namespace
