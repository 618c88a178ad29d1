// SPDX-License-Identifier: Apache-2.0

#include "bench/runs/rehearsal.h"

#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/sample_rehearsals.h"

namespace bench {
namespace {

using tests::ExpectBalanced;
using tests::RandomProduction;
using tests::Rehearse;
using tests::SmallProduction;
using tests::TemporaryFolder;

PlanOptions Into(const TemporaryFolder& folder) {
  PlanOptions options;
  options.record_to = folder.path();
  return options;
}

// A manual clock never waits: every queue is pushed as fast as the threads
// go, so that most pipelines are overloaded in every possible place.
TEST(RunRehearsal, BalancesForRandomPipelinesUnderAManualClock) {
  std::mt19937 random(20260714);
  for (int round = 0; round < 40; ++round) {
    SCOPED_TRACE(round);
    base::ManualClock clock;
    PlanOptions options;
    options.null_encoders = true;
    const Rehearsal run = Rehearse(RandomProduction(random), options, 4, clock);
    EXPECT_TRUE(run.complete) << run.stopped_because;
    ExpectBalanced(run);
  }
}

TEST(RunRehearsal, BalancesWithRealEncodersAndFilesUnderAManualClock) {
  std::mt19937 random(7);
  for (int round = 0; round < 5; ++round) {
    SCOPED_TRACE(round);
    const TemporaryFolder folder;
    base::ManualClock clock;
    const Rehearsal run = Rehearse(RandomProduction(random), Into(folder), 2, clock);
    EXPECT_TRUE(run.complete) << run.stopped_because;
    ExpectBalanced(run);
  }
}

TEST(RunRehearsal, CountsEveryFrameThatFellDue) {
  const TemporaryFolder folder;
  base::ManualClock clock;
  const Rehearsal run = Rehearse(SmallProduction(), Into(folder), 2, clock);
  // 25 a second for two seconds; the program begins one frame later than the cameras.
  EXPECT_EQ(run.outputs[0].due, 49);
  EXPECT_EQ(run.outputs[1].due, 50);
  EXPECT_EQ(run.feeds[0].due, 50);
}

TEST(RunRehearsal, LeavesNoFileUnlessAsked) {
  const TemporaryFolder folder;
  base::ManualClock clock;
  PlanOptions options = Into(folder);
  Rehearse(SmallProduction(), options, 1, clock);
  EXPECT_EQ(folder.Entries(), 0U);
  options.keep_recordings = true;
  Rehearse(SmallProduction(), options, 1, clock);
  EXPECT_EQ(folder.Entries(), 2U);
}

TEST(RunRehearsal, AnInterruptionWithdrawsWhatIsInFlight) {
  const TemporaryFolder folder;
  base::SystemClock clock;
  std::stop_source stop;
  stop.request_stop();
  const Rehearsal run = Rehearse(SmallProduction(), Into(folder), 3600, clock, stop.get_token());
  EXPECT_FALSE(run.complete);
  EXPECT_EQ(run.stopped_because, "interrupted");
  ExpectBalanced(run);
  EXPECT_EQ(folder.Entries(), 0U);
}

TEST(RunRehearsal, SaysWhichFolderIsMissing) {
  PlanOptions options;
  options.record_to = "/nonexistent/folder";
  auto plan = MakePlan(SmallProduction(), options);
  ASSERT_TRUE(plan);
  auto feeds = PrepareFeeds(*plan, {});
  ASSERT_TRUE(feeds);
  base::ManualClock clock;
  auto run = RunRehearsal(*plan, **feeds, 1, clock, {}, [](double, std::int64_t) {});
  ASSERT_FALSE(run);
  EXPECT_THAT(run.error().where + run.error().detail, testing::HasSubstr("/nonexistent/folder"));
}

TEST(RunRehearsal, ChargesTheCpuOfEachStage) {
  const TemporaryFolder folder;
  base::SystemClock clock;  // threads must live long enough to be looked at
  const Rehearsal run = Rehearse(SmallProduction(), Into(folder), 1, clock);
  std::vector<Stage> stages;
  for (const StageCost& cost : run.stages) {
    stages.push_back(cost.stage);
  }
  EXPECT_THAT(stages, testing::IsSupersetOf({bench::Stage::kCapture, bench::Stage::kConvert,
                                             bench::Stage::kCompose, bench::Stage::kEncode,
                                             bench::Stage::kWrite}));
}

TEST(RunFlatOut, MakesTheProductionItWasAskedFor) {
  const TemporaryFolder folder;
  auto plan = MakePlan(SmallProduction(), Into(folder));
  ASSERT_TRUE(plan);
  auto feeds = PrepareFeeds(*plan, {});
  ASSERT_TRUE(feeds);
  const auto run = RunFlatOut(*plan, **feeds, 4, 60, {}, [](double, std::int64_t) {});
  ASSERT_TRUE(run);
  EXPECT_TRUE(run->complete);
  EXPECT_GT(run->speed, 0);
}

// Nothing listens on port 1 of this PC: a stream sent there could not open.
TEST(RunFlatOut, SendsNothingToTheUsersOwnServer) {
  const TemporaryFolder folder;
  profiles::Profile profile = SmallProduction();
  profiles::Output stream = profile.outputs[0];
  stream.name = "Stream";
  stream.kind = profiles::OutputKind::kStream;
  stream.container = "flv";
  stream.url = "rtmp://127.0.0.1:1/app/invented-key";
  profile.outputs.push_back(stream);
  PlanOptions options = Into(folder);
  options.use_own_urls = true;
  auto plan = MakePlan(profile, options);
  ASSERT_TRUE(plan);
  for (const std::string& note : plan->notes) {
    EXPECT_THAT(note, testing::Not(testing::HasSubstr("invented-key")));
  }
  auto feeds = PrepareFeeds(*plan, {});
  ASSERT_TRUE(feeds);
  const auto nothing = [](double, std::int64_t) {};
  base::ManualClock clock;
  const auto real = RunRehearsal(*plan, **feeds, 1, clock, {}, nothing);
  ASSERT_FALSE(real) << "the rehearsal itself uses the full URL";
  EXPECT_EQ(real.error().where, "rtmp://127.0.0.1");
  const auto run = RunFlatOut(*plan, **feeds, 1, 60, {}, nothing);
  ASSERT_TRUE(run) << run.error().detail;
  EXPECT_TRUE(run->complete);
}

TEST(PrepareFeeds, RefusesAClipThatIsNoClip) {
  profiles::Profile profile = SmallProduction();
  profile.sources[0].content = profiles::Content::kClip;
  profile.sources[0].clip = "/proc/self/status";
  auto plan = MakePlan(profile, {});
  ASSERT_TRUE(plan);
  const auto feeds = PrepareFeeds(*plan, {});
  ASSERT_FALSE(feeds);
  EXPECT_EQ(feeds.error().kind, base::ErrorKind::kInvalid);
  EXPECT_EQ(feeds.error().where, "/proc/self/status");
}

TEST(PrepareFeeds, PlaysEveryCaptureFormat) {
  for (const char* format : {"yuyv422", "uyvy422", "nv12", "yuv420p", "p010", "bgr24", "bgra",
                             "v210", "mjpeg", "h264"}) {
    SCOPED_TRACE(format);
    profiles::Profile profile = SmallProduction();
    profile.sources[0].pixel_format = format;
    PlanOptions options;
    options.null_encoders = true;
    auto plan = MakePlan(profile, options);
    ASSERT_TRUE(plan);
    auto feeds = PrepareFeeds(*plan, {});
    ASSERT_TRUE(feeds) << feeds.error().detail;
    // Flat out nothing is dropped: each frame must come through as one picture.
    const auto run = RunFlatOut(*plan, **feeds, 2, 60, {}, [](double, std::int64_t) {});
    ASSERT_TRUE(run);
    EXPECT_TRUE(run->complete);
  }
}

TEST(PrepareFeeds, DecodesNetworkSources) {
  for (const char* codec : {"h264", "hevc"}) {
    SCOPED_TRACE(codec);
    profiles::Profile profile = SmallProduction();
    profile.sources[0].arrives_by = profiles::ArrivesBy::kNetwork;
    profile.sources[0].pixel_format.clear();
    profile.sources[0].codec = codec;
    profile.sources[0].bitrate_kbps = 500;
    base::ManualClock clock;
    PlanOptions options;
    options.null_encoders = true;
    const Rehearsal run = Rehearse(profile, options, 3, clock);
    EXPECT_TRUE(run.complete) << run.stopped_because;
    EXPECT_GT(run.feeds[0].delivered, 0);
    ExpectBalanced(run);
  }
}

}  // namespace
}  // namespace bench
