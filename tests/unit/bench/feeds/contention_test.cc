// SPDX-License-Identifier: Apache-2.0
//
// Numbers of workers, workers that fail, and one real measure of a small encode.

#include "bench/feeds/contention.h"

#include <atomic>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/sample_rehearsals.h"

namespace bench {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

TEST(WorkerCounts, EveryNumberOnSmallMachinesAHandfulOnLarge) {
  EXPECT_THAT(WorkerCounts(0), ElementsAre(1));
  EXPECT_THAT(WorkerCounts(1), ElementsAre(1));
  EXPECT_THAT(WorkerCounts(2), ElementsAre(1, 2));
  EXPECT_THAT(WorkerCounts(4), ElementsAre(1, 2, 3, 4));
  EXPECT_THAT(WorkerCounts(16), ElementsAre(1, 2, 4, 8, 16));
  for (int cpus = 5; cpus <= 256; ++cpus) {
    const auto counts = WorkerCounts(cpus);
    EXPECT_LE(counts.size(), 5U) << cpus;
    EXPECT_EQ(counts.front(), 1) << cpus;
    EXPECT_EQ(counts.back(), cpus);
  }
}

TEST(MeasureWorkers, CountsTheWorkOfAllTogether) {
  std::atomic<int> made = 0;
  std::string failure;
  const auto points = MeasureWorkers(
      [&]() -> base::Result<WorkOnce> {
        ++made;
        return WorkOnce([]() -> base::Status { return base::Done{}; });
      },
      {2, 0.004}, failure, {});
  ASSERT_EQ(points.size(), 2U);
  EXPECT_EQ(points[0].workers, 1);
  EXPECT_EQ(points[1].workers, 2);
  EXPECT_GT(points[0].per_second, 0);
  EXPECT_EQ(made, 6) << "one, then two workers, twice";
  EXPECT_EQ(failure, "");
}

TEST(MeasureWorkers, TellsWhatFailedAndKeepsWhatWasMeasured) {
  std::atomic<int> made = 0;
  std::string failure;
  const auto points = MeasureWorkers(
      [&]() -> base::Result<WorkOnce> {
        if (++made > 1) {
          return base::Error{base::ErrorKind::kIo, "encoder", "no more of it"};
        }
        return WorkOnce([]() -> base::Status { return base::Done{}; });
      },
      {2, 0.004}, failure, {});
  EXPECT_EQ(points.size(), 1U);
  EXPECT_EQ(failure, "encoder: no more of it");
}

TEST(MeasureWorkers, StopsWhenAsked) {
  std::stop_source stop;
  stop.request_stop();
  std::string failure;
  const auto points = MeasureWorkers(
      []() -> base::Result<WorkOnce> {
        return WorkOnce([]() -> base::Status { return base::Done{}; });
      },
      {2, 100}, failure, stop.get_token());
  EXPECT_THAT(points, IsEmpty());
  EXPECT_EQ(failure, "interrupted");
}

TEST(MeasureContention, EncodesForRealAndCopiesInMemory) {
  auto plan = MakePlan(tests::SmallProduction(), {});
  ASSERT_TRUE(plan);
  plan->cache_bytes = 1 << 20;
  const Contention contention = MeasureContention(*plan, {2, 0.04});
  EXPECT_EQ(contention.failure, "");
  ASSERT_EQ(contention.points.size(), 2U);
  EXPECT_GT(contention.points[1].per_second, 0);
  EXPECT_THAT(contention.work, HasSubstr("128x64"));
  EXPECT_GT(contention.memory_bytes_per_second, 0);
}

TEST(MeasureContention, SaysSoWhenNothingIsEncodedInSoftware) {
  PlanOptions options;
  options.null_encoders = true;
  const auto plan = MakePlan(tests::SmallProduction(), options);
  ASSERT_TRUE(plan);
  const Contention contention = MeasureContention(*plan, {2, 0.04});
  EXPECT_THAT(contention.points, IsEmpty());
  EXPECT_THAT(contention.failure, HasSubstr("nothing in software"));
}

}  // namespace
}  // namespace bench
