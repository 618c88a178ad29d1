// SPDX-License-Identifier: Apache-2.0
//
// Sizing: sums worked by hand from a production of round costs, and agreement with the room for
// more sources, which is reckoned another way.

#include "report/predict/size.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "profiles/demand/demand.h"
#include "profiles/text/addition.h"
#include "profiles/text/change.h"
#include "profiles/text/growth.h"
#include "report/assess/assess.h"
#include "report/cpu/size_cpu.h"
#include "report/predict/room.h"
#include "report/predict/size_ports.h"
#include "report/predict/size_resources.h"
#include "report/words/cautions.h"
#include "tests/support/evidence_builder.h"
#include "tests/support/two_cameras.h"

namespace report {
namespace {

using ::testing::Contains;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using testing::TwoCameras;

profiles::Profile Changed(const Evidence& evidence, const std::string& change) {
  const auto changed = profiles::WithChange(evidence.profile, change);
  EXPECT_TRUE(changed) << changed.error().detail;
  return changed.value_or(evidence.profile);
}

profiles::Profile Grown(const Evidence& evidence, int more) {
  const auto grown = profiles::WithMoreSources(evidence.profile, "Left", more);
  EXPECT_TRUE(grown) << grown.error().detail;
  return grown.value_or(evidence.profile);
}

std::vector<std::string> Untold(const ScaledCpu& scaled) {
  std::vector<std::string> texts;
  for (const UntoldPart& part : scaled.not_told) {
    texts.push_back(part.Text());
  }
  return texts;
}

double CpusOf(const ScaledCpu& scaled, bench::Stage stage, const std::string& item) {
  for (const ScaledPart& part : scaled.parts) {
    if (part.stage == stage && part.item == item) {
      return part.cpus;
    }
  }
  return -1;
}

const SizedResource* Row(const SizedProduction& sized, const std::string& resource) {
  for (const SizedResource& row : sized.resources) {
    if (base::WordOf(row.resource) == resource) {
      return &row;
    }
  }
  return nullptr;
}

Sizing Asked(const Evidence& evidence, const profiles::Profile& changed) {
  return SizeUp({"r.json", Assess(evidence)}, changed);
}

TEST(ScaleCpu, LeavesWhatIsAsItWas) {
  const Evidence evidence = TwoCameras();
  const ScaledCpu scaled = ScaleCpu(evidence, evidence.profile);
  EXPECT_NEAR(scaled.Total(), 1.1, 1e-9);  // 66 s of CPU in 60 s
  EXPECT_EQ(scaled.Spread(), 0);
  EXPECT_THAT(scaled.not_told, IsEmpty());
}

TEST(ScaleCpu, TakesOneMoreAsOneOfItsKind) {
  const Evidence evidence = TwoCameras();
  const ScaledCpu scaled = ScaleCpu(evidence, Grown(evidence, 2));
  // 1.8 + 3.6 + 12.6 s of CPU in 60 s: 0.3 each, 20 % either way.
  EXPECT_NEAR(scaled.Total(), 1.1 + 2 * 0.3, 1e-9);
  EXPECT_NEAR(scaled.Spread(), 2 * 0.3 * 0.2, 1e-9);
}

TEST(ScaleCpu, ScalesByPixelsRateAndEffort) {
  const Evidence evidence = TwoCameras();
  const auto big = profiles::WithAdded(evidence.profile, "1920x1080 60 usb yuyv422");
  ASSERT_TRUE(big) << big.error().detail;
  const ScaledCpu scaled = ScaleCpu(evidence, *big);
  // 0.06 CPUs for 1280x720 at 30: 2.25 times the pixels, twice the rate.
  EXPECT_NEAR(CpusOf(scaled, bench::Stage::kConvert, "Added"), 0.06 * 2.25 * 2, 1e-9);
  const ScaledCpu least = ScaleCpu(evidence, Changed(evidence, "isos.effort=least"));
  const double ratio =
      EffortRatio(profiles::Effort::kLeast) / EffortRatio(evidence.profile.outputs[2].effort);
  EXPECT_NEAR(CpusOf(least, bench::Stage::kEncode, "Iso: Left"), 0.21 * ratio, 1e-9);
  const ScaledCpu slow = ScaleCpu(evidence, Changed(evidence, "program.rate=15"));
  EXPECT_NEAR(CpusOf(slow, bench::Stage::kCompose, ""), 0.05,
              1e-9);  // 6 s of 60 s at 30, at half the rate
}

TEST(ScaleCpu, TheRateIsTheProfilesEvenWhereFramesWereLost) {
  Evidence evidence = TwoCameras();
  for (bench::StageCost& stage : evidence.results.rehearsal->stages) {
    stage.frames /= 2;  // half were dropped before the stage, at half the CPU time
    stage.cpu_seconds /= 2;
  }
  EXPECT_NEAR(ScaleCpu(evidence, evidence.profile).Total(), 1.1, 1e-12);
}

TEST(ScaleCpu, OneMoreIsDrawnIntoTheMultiviewToo) {
  Evidence evidence = TwoCameras();
  evidence.profile.multiview = profiles::Multiview{{1280, 720}, 30};
  evidence.results.rehearsal->stages.push_back({bench::Stage::kMultiview, "", 1800, 36});
  // 0.6 CPUs read the program (1280x720) and two cameras of that size: a third more with one more.
  EXPECT_NEAR(CpusOf(ScaleCpu(evidence, Grown(evidence, 1)), bench::Stage::kMultiview, ""), 0.8,
              1e-9);
}

TEST(ScaleCpu, SaysWhatNothingTells) {
  const Evidence evidence = TwoCameras();
  const auto network = profiles::WithAdded(evidence.profile, "1280x720 30 network h264 4000");
  ASSERT_TRUE(network);
  EXPECT_THAT(Untold(ScaleCpu(evidence, *network)), Contains("decode of Added"));
  EXPECT_THAT(Untold(ScaleCpu(evidence, Changed(evidence, "isos.codec=hevc"))),
              Contains("encode of Iso: Left"));
}

TEST(Sizer, AgreesWithTheRoomForMoreSources) {
  const Evidence evidence = TwoCameras();
  const auto capacity = PredictCapacity(evidence);
  ASSERT_TRUE(capacity);
  const int most = capacity->sources.front().predicted;  // 9, worked by hand in its own test
  const Sizer sizer(evidence);
  EXPECT_NE(sizer.Size(Grown(evidence, most)).verdict, Verdict::kShort);
  EXPECT_EQ(sizer.Size(Grown(evidence, most + 1)).verdict, Verdict::kShort);
  const int kept = capacity->sources.front().within_margins;
  EXPECT_FALSE(Below(*Row(sizer.Size(Grown(evidence, kept)), "cpu")));
  const SizedProduction above = sizer.Size(Grown(evidence, kept + 1));
  EXPECT_TRUE(Below(*Row(above, "cpu")) || Below(*Row(above, "encoder")));
}

TEST(Sizer, GivesTheCpuItsHeadroomAndInterval) {
  const Evidence evidence = TwoCameras();
  const SizedProduction sized = Sizer(evidence).Size(Grown(evidence, 2));
  const SizedResource* const cpu = Row(sized, "cpu");
  ASSERT_NE(cpu, nullptr);
  EXPECT_NEAR(cpu->asked, 1.7, 1e-9);
  EXPECT_NEAR(*cpu->headroom_percent, 100 * (1 - 1.7 / 4), 1e-6);
  EXPECT_NEAR(*cpu->lowest_percent, 100 * (1 - 1.82 / 4), 1e-6);
  EXPECT_NEAR(*cpu->highest_percent, 100 * (1 - 1.58 / 4), 1e-6);
  EXPECT_NEAR(sized.speed, 0.95 * 4 / 1.7, 1e-9);
}

TEST(Sizer, ASurveyTellsWhichRunWouldProveIt) {
  Evidence survey = TwoCameras();
  survey.results = {};
  survey.length = kSurvey;
  const Sizing sizing = Asked(survey, Grown(survey, 1));
  EXPECT_EQ(sizing.verdict, Verdict::kUnproven);
  EXPECT_THAT(sizing.unproven, Contains(HasSubstr("rigproof rehearse")));
  EXPECT_THAT(sizing.headline, HasSubstr("cannot tell"));
}

TEST(Sizer, AnInterruptedRunProvesNothing) {
  Evidence evidence = TwoCameras();
  evidence.results.rehearsal->complete = false;
  const Sizing sizing = Asked(evidence, Grown(evidence, 1));
  EXPECT_EQ(sizing.verdict, Verdict::kUnproven);
  EXPECT_THAT(sizing.unproven, Contains(HasSubstr("did not run to its end")));
}

TEST(Sizer, KeepsDiskAndSpaceWithTheLength) {
  const Evidence evidence = TwoCameras();
  const SizedProduction sized =
      Sizer(evidence).Size(Changed(evidence, "production.duration_minutes=120"));
  const SizedResource* const space = Row(sized, "space");
  ASSERT_NE(space, nullptr);
  EXPECT_NEAR(space->asked / space->now, 2, 1e-9);
  EXPECT_EQ(space->sureness, Sureness::kSure);
}

// As SetCapacity() leaves a row of the headroom without capacity.
TEST(JudgeSized, AnAssumedFigureMakesUnprovenAndNeverShort) {
  SizedResource speed;
  speed.resource = Resource::kEncoder;
  speed.item = "whole pipeline";
  speed.capacity = 0.97;
  speed.headroom_percent = speed.highest_percent = -3;
  speed.lowest_percent = -10;
  speed.basis = Basis::kAssumed;
  SizedProduction sized;
  sized.resources = {speed};
  JudgeSized({}, sized);
  EXPECT_EQ(sized.verdict, Verdict::kUnproven);
  EXPECT_FALSE(sized.resources[0].headroom_percent.has_value());
  EXPECT_THAT(UnprovenTexts(sized), Contains(HasSubstr("only an assumed figure")));
  speed.basis = Basis::kMeasured;
  sized = {};
  sized.resources = {speed};
  JudgeSized({}, sized);
  EXPECT_EQ(sized.verdict, Verdict::kShort);
  speed.basis = Basis::kAssumed;
  speed.headroom_percent = speed.highest_percent = speed.lowest_percent = 60;
  sized = {};
  sized.resources = {speed};
  JudgeSized({}, sized);
  EXPECT_EQ(sized.verdict, Verdict::kReady);  // it may show that something fits
}

TEST(FindRemedies, OffersTheCheapestThatSuffices) {
  Evidence evidence = TwoCameras();
  evidence.length = kRehearsalOnly;  // ports of cameras that are not there are not asked about
  // 11 of them at 0.3 CPUs and 0.5 for the rest: no margin is left of 3.8.
  profiles::Profile asked = Grown(evidence, 9);
  const Sizing sizing = Asked(evidence, asked);
  ASSERT_FALSE(sizing.remedies.empty());
  EXPECT_TRUE(sizing.verdict == Verdict::kTight || sizing.verdict == Verdict::kShort);
  const Remedy& first = sizing.remedies.front();
  EXPECT_FALSE(first.changes.empty());
  EXPECT_THAT(first.effect, HasSubstr("->"));
  for (std::size_t i = 1; i < sizing.remedies.size(); ++i) {
    EXPECT_GE(static_cast<int>(!sizing.remedies[i].sufficient),
              static_cast<int>(!sizing.remedies[i - 1].sufficient));
  }
  // Its effect is what the same change gives when it is asked for.
  profiles::Profile mended = asked;
  for (const std::string& change : first.changes) {
    mended = *profiles::WithChange(mended, change);
  }
  EXPECT_EQ(Asked(evidence, mended).verdict, first.verdict);
}

TEST(FindRemedies, ASecondDiskHelpsADiskThatIsShort) {
  Evidence evidence = TwoCameras();
  evidence.results.disks[0].sustained_bytes_per_second = 3e6;
  // Isos of 6000 kb/s and the recording: more than 60 % of 3 MB/s.
  const Sizing sizing = Asked(evidence, Grown(evidence, 1));
  EXPECT_THAT(sizing.remedies, Contains(Field(&Remedy::cost, RemedyCost::kPart)));
}

TEST(WhatToBuy, NamesTheSpeedOfAnotherPc) {
  Evidence evidence = TwoCameras();
  profiles::Profile asked = Grown(evidence, 12);
  for (profiles::Output& output : asked.outputs) {
    output.effort = profiles::Effort::kLeast;  // nothing is left to make cheaper
    output.bitrate_kbps = 500;
    output.raster = {640, 360};
  }
  for (profiles::Output& output : evidence.profile.outputs) {
    output.effort = profiles::Effort::kLeast;
    output.bitrate_kbps = 500;
    output.raster = {640, 360};
  }
  evidence.demand = profiles::SumDemand(evidence.profile);
  const Sizing sizing = Asked(evidence, asked);
  EXPECT_EQ(sizing.verdict, Verdict::kShort);
  ASSERT_FALSE(sizing.purchases.empty());
  const Purchase& speed = sizing.purchases.front();
  EXPECT_EQ(speed.what, "encode speed");
  // 1.1 + 12 x 0.3 CPUs asked, 3.8 had: 0.81 x real time, and 1.33 leaves a quarter.
  EXPECT_NEAR(speed.amount, 4.7 / 3.8 / 0.75, 1e-3);
  EXPECT_LT(*speed.lowest, speed.amount);
  EXPECT_GT(*speed.highest, speed.amount);
  EXPECT_THAT(sizing.purchases, Contains(Field(&Purchase::what, "USB controllers")));
  EXPECT_THAT(sizing.purchases, Contains(Field(&Purchase::what, "disk space")));
  EXPECT_THAT(sizing.cautions, Contains(kCautionInside));
}

TEST(ControllersFor, PacksTheHeaviestFirst) {
  EXPECT_EQ(ControllersFor({}, 400e6), 0);
  EXPECT_EQ(ControllersFor({100e6, 300e6, 200e6, 200e6}, 400e6), 2);
  EXPECT_EQ(ControllersFor({500e6}, 400e6), 1);
}

TEST(SizingJson, HasItsStableKeys) {
  const Evidence evidence = TwoCameras();
  const auto json = nlohmann::json::parse(SizingJson(Asked(evidence, Grown(evidence, 12))));
  EXPECT_EQ(json["format"], "rigproof-sizing");
  for (const char* const key : {"verdict", "sureness", "resources", "remedies", "purchases",
                                "unproven", "changes", "basis", "check"}) {
    EXPECT_TRUE(json.contains(key)) << key;
  }
}

TEST(AddCheck, SetsThePredictionAgainstWhatWasSeen) {
  const Evidence evidence = TwoCameras();
  Sizing sizing = Asked(evidence, Grown(evidence, 1));
  AddCheck(Assess(evidence), sizing);
  ASSERT_TRUE(sizing.check);
  EXPECT_NEAR(sizing.check->predicted_cpus, 1.4, 1e-9);
  EXPECT_NEAR(sizing.check->measured_cpus, 1.1, 1e-9);
  EXPECT_NEAR(sizing.check->off_percent, 100 * (1.4 / 1.1 - 1), 1e-6);
  EXPECT_TRUE(sizing.check->carried);
}

}  // namespace
}  // namespace report
