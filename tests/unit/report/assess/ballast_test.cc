// SPDX-License-Identifier: Apache-2.0
//
// Headroom measured with extra load: the figures, whose word rules, and what is said about it.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "report/data/writers.h"
#include "report/headroom/ballast_figures.h"
#include "tests/support/evidence_builder.h"

namespace report {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

bench::BallastStep Step(double at_s, double used, double production_cpus, bool carried) {
  bench::BallastStep step;
  step.at_s = at_s;
  step.seconds = 4;
  step.asked = used;
  step.used = used;
  step.ballast_cpus = used;
  step.production_cpus = production_cpus;
  step.carried = carried;
  step.dropped = carried ? 0 : 3;
  return step;
}

/// A search on the CPU of the invented PC, whose production uses one CPU of four.
bench::BallastRun CpuRun(double carried, double dropped_at) {
  bench::BallastRun run;
  run.kind = bench::LoadKind::kCpu;
  run.unit = "CPUs";
  run.method = "encodes of small pictures";
  run.complete = true;
  run.carried = carried;
  run.dropped_at = dropped_at;
  run.own_use = 1;
  run.own_basis = "measured";
  run.carried_holds = run.dropped_holds = 2;
  run.steps = {Step(2, 0, 1, true), Step(10, carried, 1, true), Step(20, dropped_at, 1, false)};
  return run;
}

Document AssessWith(const bench::BallastRun& run) {
  Evidence evidence = testing::GoodEvidence();
  evidence.results.ballast.push_back(run);
  return Assess(std::move(evidence));
}

// Arithmetic for the invented PC: 1 CPU of 4 less 0.1 taken by others, 74.4 %.
/// Percentages are told no finer.
constexpr double kTold = 1e-4;

TEST(BallastFigures, GiveTheIntervalBesideArithmetic) {
  const Document document = AssessWith(CpuRun(2, 2.2));
  ASSERT_EQ(document.by_ballast.size(), 1U);
  const BallastFigure& figure = document.by_ballast[0];
  EXPECT_NEAR(*figure.low_percent, 200.0 / 3, kTold);
  EXPECT_NEAR(*figure.high_percent, 220.0 / 3.2, kTold);
  EXPECT_NEAR(*figure.arithmetic_percent, (3.9 - 1) / 3.9 * 100, kTold);
  EXPECT_EQ(*figure.margin_percent, 25);
  EXPECT_EQ(figure.standing, "between 66 % and 68 %: the margin of 25 % stays free");
}

TEST(BallastFigures, TheLowerFigureRulesTheRow) {
  const Document document = AssessWith(CpuRun(2, 2.2));
  const Headroom* row = testing::Row(document, "cpu");
  EXPECT_NEAR(*row->headroom_percent, 200.0 / 3, kTold);
  EXPECT_NEAR((*row->capacity - row->demand) / *row->capacity * 100, 200.0 / 3, kTold);
  EXPECT_THAT(row->source, HasSubstr("the lower figure counts"));
  EXPECT_THAT(row->source, HasSubstr("the calculated one is 74 %"));
  EXPECT_EQ(document.verdict, Verdict::kReady);
}

TEST(BallastFigures, ArithmeticRulesWhereItIsLower) {
  const Document document = AssessWith(CpuRun(5, 5.5));
  const Headroom* row = testing::Row(document, "cpu");
  EXPECT_NEAR(*row->headroom_percent, (3.9 - 1) / 3.9 * 100, kTold);
  EXPECT_THAT(row->source, Not(HasSubstr("ballast")));
}

TEST(BallastFigures, BelowTheMarginTheVerdictIsTight) {
  const Document document = AssessWith(CpuRun(0.2, 0.3));
  EXPECT_EQ(document.verdict, Verdict::kTight);
  EXPECT_THAT(document.by_ballast[0].standing, HasSubstr("the margin of 25 % does not stay free"));
}

TEST(BallastFigures, SayWhenTheMarginLiesWithinTheInterval) {
  const Document document = AssessWith(CpuRun(0.3, 0.5));
  EXPECT_EQ(document.verdict, Verdict::kTight);
  EXPECT_THAT(document.by_ballast[0].standing,
              HasSubstr("the margin of 25 % lies within it and is not proven"));
}

TEST(BallastFigures, ASearchCutShortLowersARowOnlyToWhatDropped) {
  bench::BallastRun run = CpuRun(0.2, 2.2);
  run.complete = false;
  run.stopped_because = "its time was over";
  const Document document = AssessWith(run);
  EXPECT_NEAR(*testing::Row(document, "cpu")->headroom_percent, 220.0 / 3.2, kTold);
  EXPECT_EQ(document.verdict, Verdict::kReady);
  EXPECT_THAT(document.by_ballast[0].standing, HasSubstr("cut short: its time was over"));
}

TEST(BallastFigures, WithoutADropNothingIsLowered) {
  bench::BallastRun run = CpuRun(0.2, 0);
  run.dropped_at.reset();
  const Document document = AssessWith(run);
  EXPECT_NEAR(*testing::Row(document, "cpu")->headroom_percent, (3.9 - 1) / 3.9 * 100, kTold);
  EXPECT_THAT(document.by_ballast[0].standing, HasSubstr("at least 16 %"));
}

TEST(BallastFigures, NothingCarriedIsNothingLeft) {
  bench::BallastRun run = CpuRun(0, 0.05);
  run.carried.reset();
  const Document document = AssessWith(run);
  EXPECT_NEAR(*testing::Row(document, "cpu")->headroom_percent, 0, kTold);
  EXPECT_EQ(document.verdict, Verdict::kTight);
  EXPECT_THAT(document.by_ballast[0].standing, HasSubstr("less than 4.7 %"));
}

TEST(BallastFigures, ARunThatFoundNothingIsNoFigure) {
  bench::BallastRun run = CpuRun(0, 0);
  run.carried.reset();
  run.dropped_at.reset();
  EXPECT_THAT(AssessWith(run).by_ballast, IsEmpty());
}

TEST(BallastFigures, TheDisksRowIsLoweredToo) {
  bench::BallastRun run = CpuRun(0.9e6, 1e6);
  run.kind = bench::LoadKind::kDisk;
  run.item = "/recordings";
  run.unit = "bytes/s";
  run.own_use = 0.8e6;
  const Document document = AssessWith(run);
  EXPECT_NEAR(*testing::Row(document, "disk")->headroom_percent, 0.9 / 1.7 * 100, kTold);
}

TEST(BallastFigures, MemoryTrafficStandsByItself) {
  bench::BallastRun run = CpuRun(9e9, 10e9);
  run.kind = bench::LoadKind::kMemory;
  run.unit = "bytes/s";
  run.own_use = 1e9;
  const Document document = AssessWith(run);
  EXPECT_EQ(document.by_ballast[0].resource, Resource::kMemoryTraffic);
  EXPECT_FALSE(document.by_ballast[0].arithmetic_percent);
  EXPECT_NEAR(*document.by_ballast[0].low_percent, 90, 1e-9);
  EXPECT_NEAR(*testing::Row(document, "memory")->headroom_percent, 96.4, 0.1);
}

/// The reasons for a search whose production took `loaded_cpus` beside the extra load.
std::vector<std::string> Why(double loaded_cpus, const Evidence& base) {
  Evidence evidence = base;
  bench::BallastRun run = CpuRun(1.2, 1.3);
  run.steps[1].production_cpus = loaded_cpus;
  evidence.results.ballast.push_back(run);
  return Assess(std::move(evidence)).by_ballast.at(0).why;
}

TEST(WhyBallastDiffers, SaysNothingWhereTheTwoAgree) {
  EXPECT_THAT(AssessWith(CpuRun(2.8, 2.95)).by_ballast[0].why, IsEmpty());
}

TEST(WhyBallastDiffers, AdmitsThatNothingMeasuredSaysWhy) {
  EXPECT_THAT(Why(1, testing::GoodEvidence()), ElementsAre(HasSubstr("Nothing that was measured")));
}

TEST(WhyBallastDiffers, NamesWhatTheProductionCostMore) {
  EXPECT_THAT(Why(1.25, testing::GoodEvidence()),
              Contains(HasSubstr("took 1.25 CPUs beside the extra load and 1.00 alone (+25 %)")));
}

TEST(WhyBallastDiffers, NamesHardwareThreadsOnlyWhereCoresAreShared) {
  Evidence evidence = testing::GoodEvidence();
  evidence.inventory.cpu.cores = 4;
  EXPECT_THAT(Why(1.25, evidence), Not(Contains(HasSubstr("SMT"))));
  evidence.inventory.cpu.cores = 2;
  EXPECT_THAT(Why(1.25, evidence), Contains(HasSubstr("4 hardware threads share 2 cores (SMT)")));
}

Evidence WithTelemetry(double plain_mhz, double loaded_mhz, double loaded_others) {
  Evidence evidence = testing::GoodEvidence();
  probes::TelemetryRecord record;
  for (int second = 1; second <= 30; ++second) {
    probes::TelemetrySample sample;
    sample.at_s = second;
    const bool loaded = second > 8;
    sample.mean_mhz = loaded ? loaded_mhz : plain_mhz;
    sample.own_cpus = 2;
    sample.busy_cpus = 2 + (loaded ? loaded_others : 0.1);
    sample.steal_cpus = 0;
    record.samples.push_back(sample);
  }
  evidence.ballast_telemetry = record;
  return evidence;
}

TEST(WhyBallastDiffers, NamesAClockThatFell) {
  EXPECT_THAT(Why(1, WithTelemetry(4200, 3600, 0.1)),
              Contains(HasSubstr("3600 MHz under the extra load and 4200 MHz without: boost")));
  EXPECT_THAT(Why(1, WithTelemetry(4200, 4190, 0.1)), Not(Contains(HasSubstr("MHz"))));
}

TEST(WhyBallastDiffers, NamesWhatOthersTook) {
  EXPECT_THAT(Why(1, WithTelemetry(4200, 4200, 0.9)),
              Contains(HasSubstr("took 0.10 CPUs in the rehearsal")));
}

TEST(Writers, ShowTheBallast) {
  const Document document = AssessWith(CpuRun(0.3, 0.5));
  const std::string terminal = WriteTerminal(document, {.columns = 80, .details = true});
  EXPECT_THAT(terminal, HasSubstr("Headroom measured with extra load"));
  EXPECT_THAT(terminal, HasSubstr("23 % to 33 %"));
  const std::string page = WriteHtml(document);
  EXPECT_THAT(page, HasSubstr("id=\"ballast\""));
  EXPECT_THAT(page, HasSubstr("headroom with extra load 23 % to 33 %"));
  const std::string json = WriteJson(document);
  EXPECT_THAT(json, HasSubstr("\"headroom_by_ballast\": ["));
  const auto back = ReadStoredEvidence(json, "result.json");
  ASSERT_TRUE(back) << back.error().detail;
  EXPECT_EQ(Assess(*back).headline, document.headline);
}

TEST(Writers, LeaveTheSectionOutWhereThereWasNoBallast) {
  const Document document = Assess(testing::GoodEvidence());
  EXPECT_THAT(WriteTerminal(document, {.columns = 80, .details = true}),
              Not(HasSubstr("by ballast")));
  EXPECT_THAT(WriteHtml(document), Not(HasSubstr("id=\"ballast\"")));
}

}  // namespace
}  // namespace report
