// SPDX-License-Identifier: Apache-2.0
//
// Small parts of the engine: queues, pacing, rates, warm-up, drawing.

#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/feeds/content.h"
#include "bench/pipeline/compose.h"
#include "bench/plan/plan.h"
#include "bench/runs/warm_up.h"
#include "bench/stages/bounded_queue.h"
#include "bench/stages/pacer.h"
#include "bench/stages/rate_map.h"
#include "bench/stages/run_control.h"
#include "tests/support/sample_rehearsals.h"

namespace bench {
namespace {

TEST(BoundedQueue, RefusesWhenFullAndLeavesTheItem) {
  BoundedQueue<std::unique_ptr<int>> queue(1);
  EXPECT_TRUE(queue.TryPush(std::make_unique<int>(1)));
  auto second = std::make_unique<int>(2);
  EXPECT_FALSE(queue.TryPush(std::move(second)));
  EXPECT_NE(second, nullptr);  // NOLINT(bugprone-use-after-move): the promise under test
}

TEST(BoundedQueue, GivesWhatIsLeftAfterClosing) {
  BoundedQueue<int> queue(2);
  queue.TryPush(1);
  queue.Close();
  EXPECT_FALSE(queue.TryPush(2));
  EXPECT_EQ(queue.Pop(), 1);
  EXPECT_EQ(queue.Pop(), std::nullopt);
}

TEST(BoundedQueue, ClosingFreesAWaitingPush) {
  BoundedQueue<int> queue(1);
  queue.TryPush(1);
  std::jthread closer([&] { queue.Close(); });
  EXPECT_FALSE(queue.Push(2));
}

TEST(RealTimePacer, WaitsForTheMomentNotForAPeriod) {
  base::ManualClock clock;
  RealTimePacer pacer(clock);
  pacer.Begin(1'000);
  EXPECT_TRUE(pacer.WaitTurn(0, 40'000'000));
  EXPECT_EQ(clock.NowNs(), 40'001'000);
  clock.AdvanceNs(100'000'000);  // a long frame
  EXPECT_TRUE(pacer.WaitTurn(0, 80'000'000));
  EXPECT_EQ(clock.NowNs(), 140'001'000) << "a turn that is due already takes no time";
}

TEST(FlatOutPacer, LetsNoPartRunAwayFromTheSlowest) {
  FlatOutPacer pacer(10);
  const int fast = pacer.Join();
  const int slow = pacer.Join();
  EXPECT_TRUE(pacer.WaitTurn(fast, 10));
  std::jthread mover([&] { pacer.WaitTurn(slow, 5); });
  EXPECT_TRUE(pacer.WaitTurn(fast, 15)) << "waits until the slow part has come to 5";
  pacer.Leave(slow);
  EXPECT_TRUE(pacer.WaitTurn(fast, 1000));
}

TEST(FlatOutPacer, StopEndsTheWait) {
  FlatOutPacer pacer(10);
  const int fast = pacer.Join();
  pacer.Join();
  std::jthread stopper([&] { pacer.Stop(); });
  EXPECT_FALSE(pacer.WaitTurn(fast, 1000));
}

// "Iso" begins the name of the output that failed, and a source may be called like it.
TEST(StopReason, IsOfOnePartAndNoOther) {
  RunControl control;
  control.Stop({StopPart::kOutput, "Iso: Left", "the disk is full"});
  const StopReason reason = control.stop_reason();
  EXPECT_TRUE(reason.Of(StopPart::kOutput, "Iso: Left"));
  EXPECT_FALSE(reason.Of(StopPart::kOutput, "Iso"));
  EXPECT_FALSE(reason.Of(StopPart::kSource, "Iso: Left"));
  EXPECT_EQ(control.reason(), "Iso: Left: the disk is full");
}

TEST(RunControl, KeepsTheFirstReasonAndClosesOnce) {
  RunControl control;
  int closed = 0;
  control.OnStop([&] { ++closed; });
  control.Stop("the disk is full");
  control.Stop("something later");
  EXPECT_EQ(control.reason(), "the disk is full");
  EXPECT_EQ(closed, 1);
}

TEST(OutputFrames, HalvesTheRateExactly) {
  for (std::int64_t frame = 0; frame < 10; ++frame) {
    const FrameRange range = OutputFrames(frame, 60, 30);
    EXPECT_EQ(range.end - range.first, frame % 2 == 0 ? 1 : 0);
  }
}

TEST(OutputFrames, RepeatsForAHigherRate) {
  std::int64_t frames = 0;
  for (std::int64_t frame = 0; frame < 25; ++frame) {
    const FrameRange range = OutputFrames(frame, 25, 30);
    EXPECT_EQ(range.first, frames) << "no frame twice, none left out";
    frames = range.end;
  }
  EXPECT_EQ(frames, 30);
}

TEST(OutputFrames, DropsOneInAThousandAndOneFrom60To5994) {
  // 60 against 60000/1001: one frame in 1001 has no place (arithmetic; every 16.683 s).
  const FrameRange last = OutputFrames(60060, 60, {60000, 1001});
  EXPECT_EQ(last.first, 60000);
}

TEST(WarmUp, EndsOnceAllDeliverWithinTwoToFiveSeconds) {
  EXPECT_EQ(WarmUpSeconds(300'000'000), 2);
  EXPECT_EQ(WarmUpSeconds(2'400'000'000), 3);
  EXPECT_EQ(WarmUpSeconds(60'000'000'000), 5);
  EXPECT_EQ(WarmUpSeconds(-1), 5);
}

TEST(SustainedSpeed, IsALowPercentileWithoutTheStart) {
  const std::vector<double> windows{0.1, 0.2, 3, 3, 3, 2, 3, 3, 3, 3, 3, 3};
  EXPECT_EQ(SustainedSpeed(windows), 2);
  EXPECT_EQ(SustainedSpeed({}), 0);
}

base::FramePtr Painted(profiles::Content content, int index, std::uint32_t seed = 1) {
  const Painter painter(content, 128, 96, seed);
  auto picture = base::NewPicture(kWorkingFormat, 128, 96);
  painter.Paint(index, 12, **picture);
  return std::move(*picture);
}

/// Mean absolute difference of brightness.
double Difference(const AVFrame& a, const AVFrame& b) {
  double sum = 0;
  for (int y = 0; y < a.height; ++y) {
    for (int x = 0; x < a.width; ++x) {
      sum += std::abs(a.data[0][y * a.linesize[0] + x] - b.data[0][y * b.linesize[0] + x]);
    }
  }
  return sum / (a.width * a.height);
}

TEST(Painter, GivesTheSamePicturesEveryTimeAndOthersPerCamera) {
  const auto first = Painted(profiles::Content::kTalk, 3);
  EXPECT_EQ(Difference(*first, *Painted(profiles::Content::kTalk, 3)), 0);
  EXPECT_GT(Difference(*first, *Painted(profiles::Content::kTalk, 3, 2)), 1);
}

TEST(Painter, MovesMoreTheHarderTheKind) {
  const auto motion = [](profiles::Content content) {
    return Difference(*Painted(content, 3), *Painted(content, 4));
  };
  EXPECT_LT(motion(profiles::Content::kPlain), motion(profiles::Content::kTalk));
  EXPECT_LT(motion(profiles::Content::kTalk), motion(profiles::Content::kBusy));
}

TEST(MultiviewTiles, StayInsideAndApart) {
  for (int tiles = 1; tiles <= 17; ++tiles) {
    const auto areas = MultiviewTiles(tiles, 1920, 1080);
    ASSERT_EQ(areas.size(), static_cast<std::size_t>(tiles));
    for (const Area& area : areas) {
      EXPECT_LE(area.left + area.width, 1920);
      EXPECT_LE(area.top + area.height, 1080);
      EXPECT_EQ((area.left | area.top | area.width | area.height) & 1, 0);
    }
  }
}

TEST(ProgramComposer, CutsBetweenSources) {
  std::vector<base::FramePtr> pictures;
  pictures.push_back(Painted(profiles::Content::kPlain, 0, 1));
  pictures.push_back(Painted(profiles::Content::kBusy, 0, 2));
  ProgramComposer composer(2);
  auto early = base::NewPicture(kWorkingFormat, 128, 96);
  auto later = base::NewPicture(kWorkingFormat, 128, 96);
  ASSERT_TRUE(composer.Compose(pictures, 0, **early));
  ASSERT_TRUE(composer.Compose(pictures, ProgramComposer::kSecondsOnAir, **later));
  EXPECT_LT(Difference(**early, *pictures[0]), Difference(**early, *pictures[1]));
  EXPECT_LT(Difference(**later, *pictures[1]), Difference(**later, *pictures[0]));
}

TEST(MakePlan, TakesHardwareWhereItWorksAndSaysSoWhereItDoesNot) {
  profiles::Profile profile = tests::SmallProduction();
  profile.outputs[0].encoder = profiles::EncoderChoice::kHardware;
  PlanOptions options;
  auto plan = MakePlan(profile, options);
  ASSERT_TRUE(plan);
  EXPECT_EQ(plan->outputs[0].encoder, "libx264");
  EXPECT_THAT(plan->notes, testing::Contains(testing::HasSubstr("none opens here")));
}

TEST(MakePlan, SharesThreadsByPictureRate) {
  profiles::Profile profile = tests::SmallProduction();
  profile.outputs[0].raster = {1920, 1080};
  profile.outputs[1].raster = {320, 180};
  PlanOptions options;
  options.usable_cpus = 8;
  auto plan = MakePlan(profile, options);
  ASSERT_TRUE(plan);
  EXPECT_EQ(plan->outputs[0].threads, 8);
  EXPECT_EQ(plan->outputs[1].threads, 1);
}

TEST(MakePlan, RefusesACodecThatThisFfmpegLacks) {
  profiles::Profile profile = tests::SmallProduction();
  profile.outputs[0].codec = "unheard-of";
  const auto plan = MakePlan(profile, {});
  ASSERT_FALSE(plan);
  EXPECT_EQ(plan.error().where, "Recording");
}

TEST(MakePlan, KeepsFileNamesApart) {
  profiles::Profile profile = tests::SmallProduction();
  profile.outputs[0].name = "A/B";
  profile.outputs[1].name = "A:B";
  auto plan = MakePlan(profile, {});
  ASSERT_TRUE(plan);
  EXPECT_NE(plan->outputs[0].target, plan->outputs[1].target);
}

}  // namespace
}  // namespace bench
