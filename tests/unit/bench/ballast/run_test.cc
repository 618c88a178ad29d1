// SPDX-License-Identifier: Apache-2.0
//
// Short real runs of each kind of ballast: that load is made, measured, ended and removed.

#include "bench/ballast/run.h"

#include <algorithm>
#include <random>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/ballast/duty_cycle.h"
#include "bench/ballast/works.h"
#include "tests/support/no_more_threads.h"
#include "tests/support/sample_rehearsals.h"

namespace bench {
namespace {

using tests::SmallProduction;
using tests::TemporaryFolder;

RehearsalPlan PlanInto(const TemporaryFolder& folder) {
  PlanOptions options;
  options.record_to = folder.path();
  auto plan = MakePlan(SmallProduction(), options);
  EXPECT_TRUE(plan);
  return *plan;
}

/// Runs a load until it has done some units and gives what it did.
PacedLoad::Done RunSome(const BallastRecipe& recipe, double* cpu_seconds = nullptr) {
  PacedLoad load(recipe.kind, recipe.threads, recipe.make);
  EXPECT_TRUE(load.Ready());
  load.SetPace(1, recipe.threads);
  load.WaitForUnits(40, 60);
  load.SetPace(0, 0);
  EXPECT_EQ(load.failure(), "");
  if (cpu_seconds != nullptr) {
    *cpu_seconds = load.CpuSeconds();
  }
  return load.done();
}

TEST(CpuBallast, EncodesAndItsCpuTimeIsSeen) {
  const TemporaryFolder folder;
  double cpu_seconds = 0;
  const auto done = RunSome(CpuBallast(PlanInto(folder), 2), &cpu_seconds);
  EXPECT_GE(done.units, 40);
  EXPECT_GT(cpu_seconds, 0);
}

TEST(CpuBallast, SaysWhatItEncodesWith) {
  const TemporaryFolder folder;
  const BallastRecipe recipe = CpuBallast(PlanInto(folder), 2);
  EXPECT_THAT(recipe.method, testing::HasSubstr("libx264 preset=ultrafast"));
}

TEST(CpuBallast, EncodesWithEverySoftwareEncoderOfThePlan) {
  for (const char* codec : {"hevc", "mjpeg", "av1"}) {
    SCOPED_TRACE(codec);
    const TemporaryFolder folder;
    RehearsalPlan plan = PlanInto(folder);
    profiles::Profile profile = SmallProduction();
    for (profiles::Output& output : profile.outputs) {
      output.codec = codec;
    }
    PlanOptions options;
    options.record_to = folder.path();
    auto planned = MakePlan(profile, options);
    if (!planned) {
      continue;  // this FFmpeg lacks the encoder
    }
    EXPECT_GE(RunSome(CpuBallast(*planned, 1)).units, 40);
  }
}

TEST(MemoryBallast, CountsWhatItReadsAndWrites) {
  const auto done = RunSome(MemoryBallast(64 << 20, 2));
  EXPECT_EQ(done.bytes, done.units * 2 * (4 << 20));
}

TEST(DiskBallast, WritesAndLeavesNothing) {
  const TemporaryFolder folder;
  const auto done = RunSome(DiskBallast(folder.path()));
  EXPECT_EQ(done.bytes, done.units * (256 << 10));
  EXPECT_EQ(folder.Entries(), 0U);
}

TEST(DiskBallast, SaysWhichFolderIsMissing) {
  const BallastRecipe recipe = DiskBallast("/nonexistent/folder");
  PacedLoad load(recipe.kind, recipe.threads, recipe.make);
  EXPECT_FALSE(load.Ready());
  EXPECT_THAT(load.failure(), testing::HasSubstr("/nonexistent/folder"));
}

TEST(PacedLoad, DoesNothingUntilAskedAndEndsWhileItWaits) {
  const BallastRecipe recipe = MemoryBallast(16 << 20, 2);
  PacedLoad load(recipe.kind, recipe.threads, recipe.make);
  ASSERT_TRUE(load.Ready());
  EXPECT_EQ(load.done().units, 0);
  load.SetPace(3'600'000'000'000, 2);  // the next unit is an hour away
  while (load.done().units == 0) {
    load.WaitForUnits(1, 0.05);  // one that was done before is not waited for
  }
}

TEST(PacedLoad, WithoutRoomForItsThreadsItIsNotReady) {
  const tests::NoMoreThreads none;
  const BallastRecipe recipe = MemoryBallast(16 << 20, 2);
  if (!none.Begin()) {
    GTEST_SKIP() << "SKIPPED: this system takes no stack of that size";
  }
  PacedLoad load(recipe.kind, recipe.threads, recipe.make);
  EXPECT_FALSE(load.Ready());
  EXPECT_THAT(load.failure(), testing::HasSubstr("no room for another thread"));
}

// Real encodes beside the pipeline at full pace: every frame is still accounted for.
TEST(PacedLoad, LeavesTheLedgersInBalance) {
  std::mt19937 random(20261125);
  const TemporaryFolder folder;
  const BallastRecipe encodes = CpuBallast(PlanInto(folder), 2);
  const BallastRecipe copies = MemoryBallast(64 << 20, 1);
  PacedLoad encode_load(encodes.kind, encodes.threads, encodes.make);
  PacedLoad copy_load(copies.kind, copies.threads, copies.make);
  ASSERT_TRUE(encode_load.Ready());
  ASSERT_TRUE(copy_load.Ready());
  encode_load.SetPace(1, encodes.threads);
  copy_load.SetPace(1, copies.threads);
  for (int round = 0; round < 6; ++round) {
    SCOPED_TRACE(round);
    base::ManualClock clock;
    PlanOptions options;
    options.record_to = folder.path();
    tests::ExpectBalanced(tests::Rehearse(tests::RandomProduction(random), options, 1, clock));
  }
}

struct Prepared {
  explicit Prepared(const TemporaryFolder& folder) : plan(PlanInto(folder)) {
    plan.cache_bytes = 1 << 20;
    auto made = PrepareFeeds(plan, {});
    EXPECT_TRUE(made);
    feeds = std::move(*made);
    options.usable_cpus = 1;
    options.own_cpus = 0.1;
    options.available_memory_bytes = 256 << 20;
    options.memory_traffic_bytes_per_second = 1e6;
    options.disks = {{folder.path(), 25e3, 20e6}};
  }
  RehearsalPlan plan;
  FeedsPtr feeds{nullptr};
  BallastOptions options;
};

TEST(RunBallast, MeasuresEveryKindAndLeavesNothing) {
  const TemporaryFolder folder;
  Prepared prepared(folder);
  prepared.options.seconds = 9.5;
  base::SystemClock clock;
  const auto runs = RunBallast(prepared.plan, *prepared.feeds, prepared.options, clock, {},
                               [](const std::string&) {});
  ASSERT_TRUE(runs) << runs.error().detail;
  ASSERT_EQ(runs->size(), 3U);
  EXPECT_EQ((*runs)[0].kind, LoadKind::kCpu);
  EXPECT_EQ((*runs)[1].kind, LoadKind::kDisk);
  EXPECT_EQ((*runs)[2].kind, LoadKind::kMemory);
  for (const BallastRun& run : *runs) {
    SCOPED_TRACE(base::WordOf(run.kind));
    ASSERT_FALSE(run.steps.empty());
    EXPECT_EQ(run.steps.front().asked, 0);
    EXPECT_GT(run.steps.front().production_cpus, 0);
    for (std::size_t i = 1; i < run.steps.size(); ++i) {
      EXPECT_GT(run.steps[i].asked, 0);
      EXPECT_GT(run.steps[i].ballast_cpus, 0);
      EXPECT_TRUE(!run.steps[i].carried || run.steps[i].dropped == 0);
    }
    if (run.carried && run.dropped_at) {
      EXPECT_LE(*run.carried, *run.dropped_at);
    }
  }
  EXPECT_EQ(folder.Entries(), 0U);
}

/// Nothing more starts once the run's own thread has looked at it for the second time: the
/// pipeline is open then, and about to run.
class ClockBeforeNoMoreThreads final : public base::SystemClock {
 public:
  std::int64_t NowNs() const override {
    if (std::this_thread::get_id() == own_ && ++looks_ == 2) {
      begun_ = none_.Begin();
    }
    return base::SystemClock::NowNs();
  }
  bool begun() const { return begun_; }

 private:
  const std::thread::id own_ = std::this_thread::get_id();
  const tests::NoMoreThreads none_;
  mutable int looks_ = 0;
  mutable bool begun_ = false;
};

TEST(RunBallast, EndsAndSaysSoWhereNoThreadCanBeStarted) {
  const TemporaryFolder folder;
  Prepared prepared(folder);
  ClockBeforeNoMoreThreads clock;
  const auto runs = RunBallast(prepared.plan, *prepared.feeds, prepared.options, clock, {},
                               [](const std::string&) {});
  if (!clock.begun()) {
    GTEST_SKIP() << "SKIPPED: this system takes no stack of that size";
  }
  ASSERT_TRUE(runs) << runs.error().detail;
  ASSERT_EQ(runs->size(), 3U);
  for (const BallastRun& run : *runs) {
    EXPECT_FALSE(run.complete);
    EXPECT_THAT(run.stopped_because, testing::HasSubstr("thread"));
  }
  EXPECT_EQ(folder.Entries(), 0U);
}

/// Runs for an hour unless `stop_at_note` ends it: 1 is the production by itself, 2 the first load.
std::vector<BallastRun> Interrupted(const TemporaryFolder& folder, int stop_at_note, int& notes) {
  Prepared prepared(folder);
  prepared.options.seconds = 3600;
  base::SystemClock clock;
  std::stop_source stop;
  auto runs = RunBallast(prepared.plan, *prepared.feeds, prepared.options, clock, stop.get_token(),
                         [&](const std::string& /*text*/) {
                           if (++notes == stop_at_note) {
                             stop.request_stop();
                           }
                         });
  EXPECT_TRUE(runs);
  return runs ? *runs : std::vector<BallastRun>{};
}

void ExpectInterrupted(const std::vector<BallastRun>& runs) {
  EXPECT_EQ(runs.size(), 3U);
  for (const BallastRun& run : runs) {
    EXPECT_FALSE(run.complete);
    EXPECT_EQ(run.stopped_because, "interrupted");
  }
}

TEST(RunBallast, EndsOnRequestBeforeItsFirstLoad) {
  const TemporaryFolder folder;
  int notes = 0;
  ExpectInterrupted(Interrupted(folder, 1, notes));
  EXPECT_EQ(folder.Entries(), 0U);
}

TEST(RunBallast, EndsOnRequestUnderLoad) {
  const TemporaryFolder folder;
  int notes = 0;
  const auto runs = Interrupted(folder, 2, notes);
  EXPECT_EQ(folder.Entries(), 0U);
  if (notes < 2) {
    GTEST_SKIP() << "SKIPPED: this PC drops frames of a small production without any extra load";
  }
  ExpectInterrupted(runs);
}

}  // namespace
}  // namespace bench
