// SPDX-License-Identifier: Apache-2.0
//
// What the parts of a production take of the CPU: sums worked by hand.

#include "report/cpu/cpu_model.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/evidence_builder.h"
#include "tests/support/two_cameras.h"

namespace report {
namespace {

using testing::TwoCameras;

TEST(ModelCpu, SumsTheRehearsalsSecondsPerFrame) {
  const Evidence evidence = TwoCameras();
  const auto model = ModelCpu(evidence.profile, evidence.results);
  ASSERT_TRUE(model);
  // (2 x (1.8 + 3.6 + 12.6) + 6 + 24) s / 1800 frames x 30 frames/s.
  EXPECT_NEAR(model->Total(), 66.0 / 60, 1e-12);
  EXPECT_NEAR(model->Of("Left"), 5.4 / 60, 1e-12);
  const auto each =
      CpuOfOneMore(*model, evidence.profile, profiles::KindsOfSources(evidence.profile).front());
  EXPECT_NEAR(each.Sum(), 0.3, 1e-12);
  EXPECT_EQ(each.basis, Basis::kMeasured);
  EXPECT_TRUE(each.told);
}

TEST(ModelCpu, TheRateIsTheProfilesEvenWhereFramesWereLost) {
  Evidence evidence = TwoCameras();
  for (bench::StageCost& stage : evidence.results.rehearsal->stages) {
    stage.frames /= 2;  // half were dropped before the stage, at half the CPU time
    stage.cpu_seconds /= 2;
  }
  EXPECT_NEAR(ModelCpu(evidence.profile, evidence.results)->Total(), 1.1, 1e-12);
}

TEST(ModelCpu, SingleFramesStandInWhereNothingWasRehearsed) {
  Evidence evidence = TwoCameras();
  evidence.results.rehearsal.reset();
  bench::CostTable costs;
  costs.entries = {testing::Cost(bench::Stage::kCopy, "1280x720 yuyv422", 1),
                   testing::Cost(bench::Stage::kConvert, "1280x720 yuyv422", 2),
                   testing::Cost(bench::Stage::kCompose, "1280x720 from 2", 3),
                   testing::Cost(bench::Stage::kEncode, "1280x720 libx264 low talk 6000 kb/s", 7)};
  evidence.results.costs = costs;
  const auto model = ModelCpu(evidence.profile, evidence.results);
  ASSERT_TRUE(model);
  // 30 x (2 x (1 + 2) + 3 + 3 x 7) ms; recording and stream share one encode.
  EXPECT_NEAR(model->Total(), 0.9, 1e-12);
  const auto each =
      CpuOfOneMore(*model, evidence.profile, profiles::KindsOfSources(evidence.profile).front());
  EXPECT_NEAR(each.Sum(), 0.3, 1e-12);
  EXPECT_EQ(each.basis, Basis::kComputed);
}

TEST(ModelCpu, TheRehearsalOutranksSingleFrames) {
  Evidence evidence = TwoCameras();
  bench::CostTable costs;
  costs.entries = {testing::Cost(bench::Stage::kConvert, "1280x720 yuyv422", 500)};
  evidence.results.costs = costs;
  EXPECT_NEAR(ModelCpu(evidence.profile, evidence.results)->Total(), 1.1, 1e-12);
}

// The item of a part is all of it, not how its sentence ends.
TEST(CpuOfOneMore, TakesNoPartOfAnotherThingForItsOwn) {
  const Evidence evidence = TwoCameras();
  CpuModel model = *ModelCpu(evidence.profile, evidence.results);
  model.not_told = {{bench::Stage::kConvert, "Balcony of Left"}};
  const auto kind = profiles::KindsOfSources(evidence.profile).front();
  EXPECT_TRUE(CpuOfOneMore(model, evidence.profile, kind).told);
  model.not_told = {{bench::Stage::kConvert, "Left"}};
  EXPECT_FALSE(CpuOfOneMore(model, evidence.profile, kind).told);
}

TEST(ModelCpu, SaysWhichPartIsNotKnown) {
  Evidence evidence = TwoCameras();
  std::erase_if(evidence.results.rehearsal->stages,
                [](const bench::StageCost& stage) { return stage.item == "Iso: Right"; });
  const auto model = ModelCpu(evidence.profile, evidence.results);
  ASSERT_EQ(model->not_told.size(), 1U);
  EXPECT_EQ(model->not_told[0].Text(), "encode of Iso: Right");
  EXPECT_FALSE(
      CpuOfOneMore(*model, evidence.profile, profiles::KindsOfSources(evidence.profile).front())
          .told);
}

TEST(ModelCpu, OneMoreIsDrawnIntoTheMultiviewToo) {
  Evidence evidence = TwoCameras();
  evidence.profile.multiview = profiles::Multiview{{1280, 720}, 30};
  evidence.results.rehearsal->stages.push_back({bench::Stage::kMultiview, "", 1800, 18});
  const auto model = ModelCpu(evidence.profile, evidence.results);
  // It reads two sources and the program, of one size: a third of 0.3 CPUs.
  EXPECT_NEAR(
      CpuOfOneMore(*model, evidence.profile, profiles::KindsOfSources(evidence.profile).front())
          .multiview,
      0.1, 1e-12);
}

TEST(ModelCpu, NothingWithoutAnyCost) {
  EXPECT_FALSE(ModelCpu(TwoCameras().profile, bench::Results{}));
}

}  // namespace
}  // namespace report
