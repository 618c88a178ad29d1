// SPDX-License-Identifier: Apache-2.0
//
// Steps for the worse within a run, and the length that would prove a limit.

#include "report/explain/speed_steps.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "tests/support/evidence_builder.h"

namespace report {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

/// Encode time of the recording: 10 ms up to second 40, `later_ms` from then on, with a ripple.
Evidence EncodeTimeChanges(double later_ms) {
  Evidence evidence = testing::GoodEvidence();
  bench::OutputLedger& output = evidence.results.rehearsal->outputs[0];
  for (int second = 0; second < 70; ++second) {
    const double ms = (second < 40 ? 10 : later_ms) + 0.1 * (second % 3);
    output.work.push_back({30, 30 * ms / 1000, ms, 0.01, 1});
  }
  return evidence;
}

TEST(FindSpeedSteps, TellsTimeAndSizeOfAStepDown) {
  const auto steps = FindSpeedSteps(EncodeTimeChanges(15));
  ASSERT_THAT(steps, SizeIs(1));
  EXPECT_EQ(steps[0].series, "encode time of Recording");
  EXPECT_DOUBLE_EQ(steps[0].at_s, 40);
  EXPECT_NEAR(steps[0].before, 10.1, 0.05);
  EXPECT_NEAR(steps[0].after, 15.1, 0.05);
  EXPECT_NEAR(steps[0].change_percent, 49.5, 1);
  EXPECT_THAT(steps[0].moved_with, IsEmpty());
}

TEST(FindSpeedSteps, LeavesOutWhatIsSmallOrForTheBetter) {
  EXPECT_THAT(FindSpeedSteps(EncodeTimeChanges(11)), IsEmpty());
  EXPECT_THAT(FindSpeedSteps(EncodeTimeChanges(5)), IsEmpty());
}

TEST(FindSpeedSteps, SaysWhatMovedWithIt) {
  Evidence evidence = EncodeTimeChanges(15);
  for (probes::TelemetrySample& sample : evidence.telemetry->samples) {
    sample.mean_mhz = sample.at_s <= 40 ? 3000 : 2100;
    sample.steal_cpus = sample.at_s <= 40 ? 0.0 : 0.4;
  }
  const auto steps = FindSpeedSteps(evidence);
  ASSERT_THAT(steps, SizeIs(2));  // the clock rate is a series of its own
  for (const SpeedStep& step : steps) {
    EXPECT_NEAR(step.at_s, 40, 1.01);
    ASSERT_THAT(step.moved_with, SizeIs(2));
    EXPECT_THAT(step.moved_with[0], HasSubstr("clock rate: 100 before, 70 % of its highest after"));
    EXPECT_THAT(step.moved_with[1], HasSubstr("taken by the host"));
  }
}

TEST(FindSpeedSteps, BecomeAFinding) {
  const Document document = Assess(EncodeTimeChanges(15));
  ASSERT_THAT(document.steps, SizeIs(1));
  const Finding* finding = testing::Find(document, "step-down");
  ASSERT_NE(finding, nullptr);
  EXPECT_THAT(finding->title, HasSubstr("at 40 s"));
}

TEST(FindSpeedSteps, LooksAtTheRunFlatOutToo) {
  Evidence evidence = testing::GoodEvidence();
  evidence.results.flat_out->window_speeds.assign(12, 2.0);
  evidence.results.flat_out->window_speeds.insert(evidence.results.flat_out->window_speeds.end(),
                                                  12, 1.2);
  const auto steps = FindSpeedSteps(evidence);
  ASSERT_THAT(steps, SizeIs(1));
  EXPECT_EQ(steps[0].series, "full-speed run");
  EXPECT_DOUBLE_EQ(steps[0].at_s, 12);
  EXPECT_NEAR(steps[0].change_percent, -40, 1e-9);
}

// The rule of three (Hanley and Lippman-Hand 1983, JAMA 249): no event in n tries bounds the rate
// by about 3 / n at 95 %; exactly, -ln 0.05 = 2.9957.
TEST(ProofOf, NoDropInAMinuteAndTheLengthThatWouldProveSixAnHour) {
  Evidence evidence = testing::GoodEvidence();  // judged for 60 s
  evidence.profile.margins.allowed_drops_per_hour = 6;
  const auto proof = ProofOf(evidence);
  ASSERT_TRUE(proof);
  EXPECT_DOUBLE_EQ(proof->judged_seconds, 60);
  EXPECT_EQ(proof->lost_pictures, 0);
  EXPECT_NEAR(proof->upper_95_per_hour, 2.9957 * 60, 0.01);
  EXPECT_FALSE(proof->proven);
  ASSERT_TRUE(proof->seconds_to_prove);
  EXPECT_NEAR(*proof->seconds_to_prove, 2.9957 / 6 * 3600, 0.1);
}

TEST(ProofOf, ALongRunProvesALimitAndNoRunProvesNone) {
  Evidence evidence = testing::GoodEvidence();
  evidence.results.rehearsal->seconds = 10 + 1800;
  evidence.profile.margins.allowed_drops_per_hour = 6;
  EXPECT_TRUE(ProofOf(evidence)->proven);
  evidence.profile.margins.allowed_drops_per_hour = 0;
  EXPECT_FALSE(ProofOf(evidence)->proven);
  EXPECT_FALSE(ProofOf(evidence)->seconds_to_prove);
  evidence.results.rehearsal.reset();
  EXPECT_FALSE(ProofOf(evidence));
}

// A picture that the camera's queue had no room for is missing at the feed and in its iso.
TEST(ProofOf, APictureLostAtCaptureCountsOnceBesideItsIso) {
  Evidence evidence = testing::GoodEvidence();
  bench::Rehearsal& rehearsal = *evidence.results.rehearsal;
  bench::OutputLedger iso;
  iso.name = "Iso";
  iso.takes = "Camera 1";
  iso.due = 2100;
  iso.dropped = 4;
  iso.delivered = 2096;
  iso.seconds.resize(70);
  iso.seconds[30].dropped = 4;
  rehearsal.outputs.push_back(iso);
  rehearsal.feeds[0].dropped = 5;
  rehearsal.feeds[0].seconds[30].dropped = 4;  // the same pictures
  rehearsal.feeds[0].seconds[50].dropped = 1;  // nothing else tells of this one
  EXPECT_EQ(ProofOf(evidence)->lost_pictures, 5);
}

}  // namespace
}  // namespace report
