// SPDX-License-Identifier: Apache-2.0
//
// Causes from invented telemetry: what two signs must do to name one, and what must not.

#include "report/explain/explain.h"

#include <algorithm>
#include <functional>
#include <ostream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "report/explain/rehearsal.h"
#include "tests/support/evidence_builder.h"

namespace report {
namespace {

using probes::TelemetrySample;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

constexpr double kPeriod = 0.25;
constexpr int kSeconds = 60;
constexpr double kLossFrom = 30;
constexpr double kLossTo = 31;

/// A PC of four CPUs that carries its production: 40 % busy, nothing waits.
TelemetrySample GoodSample(double at_s) {
  TelemetrySample sample;
  sample.at_s = at_s;
  sample.own_cpus = 1.4;
  sample.busy_cpus = 1.6;
  sample.steal_cpus = 0;
  sample.core_busy_percent = {40, 45, 38, 41};
  sample.run_wait_cpus = 0.02;
  sample.hot_thread = "enc:1";
  sample.hot_thread_cpus = 0.3;
  sample.writers_asleep_percent = 0;
  sample.quota_throttled_percent = 0;
  sample.quota_held_cpus = 0;
  sample.mean_mhz = 3000;
  sample.throttle_events = 0;
  sample.disk_write_ms = 2;
  sample.disk_busy_percent = 5;
  sample.io_pressure_percent = 0;
  sample.memory_pressure_percent = 0;
  sample.major_faults_per_second = 0;
  sample.swapped_bytes_per_second = 0;
  sample.reclaim_stalls_per_second = 0;
  sample.memory_limit_hits_per_second = 0;
  sample.retransmits_per_second = 0;
  sample.unsent_bytes = 2000;
  sample.receiver_limited_percent = 0;
  return sample;
}

bool AtLoss(double at_s) {
  return at_s > kLossFrom - 1 && at_s <= kLossTo + 0.25;
}

using Spoil = std::function<void(TelemetrySample&, bench::StageSecond&)>;

/// One output that lost pictures for a second in the middle of a minute, at `stage`.
ExplainInput InputOf(bench::Stage stage, const Spoil& at_loss, const Spoil& always = {}) {
  probes::TelemetryRecord telemetry;
  telemetry.period_s = kPeriod;
  bench::Rehearsal rehearsal;
  rehearsal.seconds = kSeconds;
  bench::OutputLedger output;
  output.name = "Recording";
  output.work.resize(kSeconds);
  for (bench::StageSecond& work : output.work) {
    work = {25, 0.4, 30, 0.05, 5};
  }
  bench::StageSecond unused;
  for (int i = 1; i <= static_cast<int>(kSeconds / kPeriod); ++i) {
    TelemetrySample sample = GoodSample(i * kPeriod);
    if (always) {
      always(sample, unused);
    }
    if (AtLoss(sample.at_s)) {
      at_loss(sample, unused);
    }
    telemetry.samples.push_back(sample);
  }
  TelemetrySample nothing;
  for (int second = 0; second < kSeconds; ++second) {
    bench::StageSecond& work = output.work[static_cast<std::size_t>(second)];
    if (always) {
      always(nothing, work);
    }
    if (second == kLossFrom - 1 || second == kLossFrom) {
      at_loss(nothing, work);
    }
  }
  rehearsal.outputs.push_back(output);
  ExplainInput input;
  input.cpus = {4, 4};
  input.moments = {{kLossFrom, kLossTo, "Recording", stage}};
  input.clean = {{5, 28}, {33, kSeconds}};
  input.signs = SignsOf(telemetry, input.cpus);
  AddStageSigns(rehearsal, input.signs);
  return input;
}

struct Case {
  const char* cause;
  bench::Stage stage;
  Spoil first;   // one sign
  Spoil second;  // another, of another kind
};

void PrintTo(const Case& one, std::ostream* out) {
  *out << one.cause;
}

void Starve(TelemetrySample& sample, bench::StageSecond& /*work*/) {
  sample.run_wait_cpus = 2.5;
}

void HoldUpWriter(TelemetrySample& /*sample*/, bench::StageSecond& work) {
  work.write_busy = 1;
  work.write_longest_ms = 2500;
}

const std::vector<Case>& Cases() {
  static const std::vector<Case> cases = {
      {"CPU quota", bench::Stage::kEncode,
       [](TelemetrySample& s, bench::StageSecond&) { s.quota_throttled_percent = 70; }, Starve},
      {"host steal", bench::Stage::kEncode,
       [](TelemetrySample& s, bench::StageSecond&) { s.steal_cpus = 1; }, Starve},
      {"CPU taken by another process", bench::Stage::kEncode,
       [](TelemetrySample& s, bench::StageSecond&) { s.busy_cpus = *s.own_cpus + 2.6; }, Starve},
      {"encoder saturated", bench::Stage::kEncode,
       [](TelemetrySample& s, bench::StageSecond&) {
         s.own_cpus = 3.9;
         s.busy_cpus = 4;
       },
       Starve},
      {"one thread fills a CPU core", bench::Stage::kEncode,
       [](TelemetrySample& s, bench::StageSecond&) { s.hot_thread_cpus = 0.99; },
       [](TelemetrySample&, bench::StageSecond& w) { w.encode_busy = 0.99; }},
      {"slowed by heat or power", bench::Stage::kEncode,
       [](TelemetrySample& s, bench::StageSecond&) { s.throttle_events = 3; },
       [](TelemetrySample& s, bench::StageSecond&) { s.mean_mhz = 1800; }},
      {"memory pressure", bench::Stage::kCompose,
       [](TelemetrySample& s, bench::StageSecond&) { s.major_faults_per_second = 400; },
       [](TelemetrySample& s, bench::StageSecond&) { s.swapped_bytes_per_second = 40e6; }},
      {"disk stall", bench::Stage::kWrite, HoldUpWriter,
       [](TelemetrySample& s, bench::StageSecond&) { s.writers_asleep_percent = 100; }},
      {"network sink slow", bench::Stage::kSend, HoldUpWriter,
       [](TelemetrySample& s, bench::StageSecond&) { s.receiver_limited_percent = 95; }},
      {"network sink slow", bench::Stage::kSend, HoldUpWriter,
       [](TelemetrySample& s, bench::StageSecond&) { s.retransmits_per_second = 40; }},
  };
  return cases;
}

class NamedCause : public ::testing::TestWithParam<Case> {};

Spoil Both(const Case& one) {
  return [one](TelemetrySample& sample, bench::StageSecond& work) {
    one.first(sample, work);
    one.second(sample, work);
  };
}

TEST_P(NamedCause, IsNamedWhereTwoSignsAgree) {
  const Case& one = GetParam();
  const auto explained = Explain(InputOf(one.stage, Both(one)));
  ASSERT_EQ(explained.size(), 1U);
  EXPECT_EQ(explained[0].cause, one.cause);
  EXPECT_GE(explained[0].evidence_for.size(), 2U);
  EXPECT_THAT(explained[0].evidence_for[0], HasSubstr("in moments without one"));
  EXPECT_THAT(ActionFor(one.cause), Not(IsEmpty()));
}

TEST_P(NamedCause, IsNotNamedForOneSignAlone) {
  const Case& one = GetParam();
  for (const Spoil& spoil : {one.first, one.second}) {
    const auto explained = Explain(InputOf(one.stage, spoil));
    EXPECT_EQ(explained[0].cause, kCauseNotKnown);
    EXPECT_THAT(explained[0].evidence_for, IsEmpty());
    EXPECT_THAT(explained[0].evidence_against, Not(IsEmpty()));
  }
}

TEST_P(NamedCause, IsNotNamedWhereTheSignsAreThereInHealthyMomentsToo) {
  const Case& one = GetParam();
  const auto explained = Explain(InputOf(one.stage, Both(one), Both(one)));
  EXPECT_EQ(explained[0].cause, kCauseNotKnown);
}

INSTANTIATE_TEST_SUITE_P(Explain, NamedCause, ::testing::ValuesIn(Cases()));

TEST(Explain, ALossFromStartToEndIsJudgedByItsSignsAlone) {
  const Case& quota = Cases()[0];
  ExplainInput input = InputOf(quota.stage, Both(quota), Both(quota));
  input.clean.clear();
  const auto explained = Explain(input);
  EXPECT_EQ(explained[0].cause, "CPU quota");
  EXPECT_THAT(explained[0].evidence_for[0], HasSubstr("no moment without one to compare with"));
}

TEST(Explain, AWriterThatIsHeldUpMostOfTheRunIsTooSlow) {
  const auto held = [](TelemetrySample& sample, bench::StageSecond& work) {
    HoldUpWriter(sample, work);
    sample.writers_asleep_percent = 90;
  };
  ExplainInput input = InputOf(bench::Stage::kWrite, held, held);
  input.clean.clear();
  EXPECT_EQ(Explain(input)[0].cause, "disk too slow");
}

TEST(Explain, AProgramThatStoodStillLeavesAHoleInItsOwnHeartbeat) {
  ExplainInput input =
      InputOf(bench::Stage::kCapture, [](TelemetrySample&, bench::StageSecond&) {});
  for (const Sign sign : {Sign::kSampleGap, Sign::kOwnActivity}) {
    auto& points = input.signs[{sign, ""}];
    std::erase_if(points, [](const SignPoint& one) { return one.from_s >= 29 && one.to_s <= 31; });
    points.insert(std::find_if(points.begin(), points.end(),
                               [](const SignPoint& one) { return one.from_s >= 31; }),
                  {29, 31, sign == Sign::kSampleGap ? 2.0 : 0.01});
  }
  EXPECT_EQ(Explain(input)[0].cause, "the whole program stood still");
}

TEST(Explain, TheDiskIsNotBlamedForWhatTheEncoderLost) {
  const Case& stall = Cases()[7];
  EXPECT_EQ(Explain(InputOf(bench::Stage::kEncode, Both(stall)))[0].cause, kCauseNotKnown);
  // A finished recording has no stage: the signs alone speak.
  EXPECT_EQ(Explain(InputOf(bench::Stage::kNone, Both(stall)))[0].cause, "disk stall");
}

TEST(Explain, SignsThatWereNotSampledNameNothing) {
  ExplainInput input;
  input.moments = {{10, 11, "Recording", bench::Stage::kEncode}};
  const auto explained = Explain(input);
  EXPECT_EQ(explained[0].cause, kCauseNotKnown);
  EXPECT_THAT(explained[0].evidence_against, ::testing::Contains(HasSubstr("not sampled")));
}

/// Drops of GoodEvidence() with its one sample a second.
Evidence StarvedEvidence() {
  Evidence evidence = testing::GoodEvidence();
  testing::Drop(evidence, 12, 40.2, bench::Stage::kEncode);
  testing::Drop(evidence, 3, 41.0, bench::Stage::kEncode);
  bench::Rehearsal& rehearsal = *evidence.results.rehearsal;
  for (bench::OutputLedger& output : rehearsal.outputs) {
    output.seconds.assign(70, {30, 30, 0, 0});
  }
  rehearsal.outputs[0].seconds[40] = {30, 18, 12, 0};
  rehearsal.outputs[0].seconds[41] = {30, 27, 3, 0};
  for (TelemetrySample& sample : evidence.telemetry->samples) {
    sample.run_wait_cpus = 0.05;
    if (sample.at_s >= 40 && sample.at_s <= 42) {
      sample.run_wait_cpus = 3;
      sample.busy_cpus = 4;
      sample.top_other = "indexer";
      sample.top_other_pid = 99;
      sample.top_other_cpus = 2.9;
    }
  }
  return evidence;
}

TEST(ExplainDrops, SetsTheCauseOfEachDropAndNamesTheProcess) {
  Evidence evidence = StarvedEvidence();
  const auto causes = ExplainDrops(evidence);
  ASSERT_EQ(causes.size(), 1U);
  EXPECT_EQ(causes[0].cause, "CPU taken by another process");
  EXPECT_EQ(causes[0].detail, "indexer (process 99)");
  EXPECT_EQ(causes[0].frames, 15);
  EXPECT_EQ(causes[0].runs, 2);
  for (const bench::DropRun& drop : evidence.results.rehearsal->drops) {
    EXPECT_EQ(drop.cause, "CPU taken by another process");
  }
  // A verdict from stored evidence says the same again.
  EXPECT_EQ(ExplainDrops(evidence)[0].cause, "CPU taken by another process");
}

TEST(ExplainDrops, BecomesAFindingThatSaysWhatToDo) {
  const Document document = Assess(StarvedEvidence());
  const Finding* finding = testing::Find(document, "cause-cpu-taken-by-another-process");
  ASSERT_NE(finding, nullptr);
  // Beside that program it was no fair test: it stops no show.
  EXPECT_EQ(document.fair_test.fair, false);
  EXPECT_EQ(finding->severity, Severity::kWarn);
  EXPECT_THAT(finding->title, HasSubstr("indexer (process 99)"));
  EXPECT_THAT(finding->action, Not(IsEmpty()));
}

TEST(ExplainDrops, NamesNothingWithoutTelemetry) {
  Evidence evidence = StarvedEvidence();
  evidence.telemetry.reset();
  EXPECT_THAT(ExplainDrops(evidence), IsEmpty());
  EXPECT_EQ(evidence.results.rehearsal->drops[0].cause, "not known");
}

}  // namespace
}  // namespace report
