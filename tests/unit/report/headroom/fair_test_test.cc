// SPDX-License-Identifier: Apache-2.0
//
// What other programs took, and what the verdict makes of it. The PC of the evidence has 4 CPUs,
// of which the production uses 1 and keeps a quarter; made-up figures.

#include "report/headroom/fair_test.h"

#include <functional>
#include <ostream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "report/assess/first_repair.h"
#include "tests/support/rule_case.h"

namespace report::testing {
namespace {

using ::testing::HasSubstr;

void OthersTake(Evidence& e, double cpus, double from_s = 0, double to_s = 100) {
  e.telemetry->watched_s = 70;
  if (from_s <= 0) {
    e.telemetry->others = {{"indexer", 99, 70 * cpus}};
  }
  for (probes::TelemetrySample& sample : e.telemetry->samples) {
    if (sample.at_s >= from_s && sample.at_s <= to_s) {
      sample.busy_cpus = 1 + cpus;
    }
  }
}

void OthersWrite(Evidence& e, double bytes_per_second) {
  for (probes::TelemetrySample& sample : e.telemetry->samples) {
    sample.own_disk_bytes_per_second = 800e3;
    sample.disk_write_bytes_per_second = 800e3 + bytes_per_second;
    sample.disk_read_bytes_per_second = 0;
    sample.disk_busy_percent = 50;
  }
}

/// The production's encode, as the rehearsal accounted for it: 30 frames a second.
void EncodeNeeds(Evidence& e, double cpus) {
  e.results.rehearsal->stages.push_back(
      {bench::Stage::kEncode, "Recording + Stream", 300, 10 * cpus});
  for (profiles::Output& output : e.profile.outputs) {
    output.rate = 30;
  }
}

struct FairCase {
  const char* name;
  std::function<void(Evidence&)> change;
  std::optional<bool> fair;
  Verdict verdict;
  const char* headline;
  const char* first_repair;  // "" none that is asked about
};

void PrintTo(const FairCase& one, std::ostream* out) {
  *out << one.name;
}

const std::vector<FairCase> kCases = {
    {"AQuietPc", [](Evidence&) {}, true, Verdict::kReady, "Ready: nothing dropped", ""},
    {"ATenthOfACpuIsAllowed", [](Evidence& e) { OthersTake(e, 0.099); }, true, Verdict::kReady,
     "Ready: ", ""},
    {"NothingDroppedBesideOthers", [](Evidence& e) { OthersTake(e, 0.3); }, false,
     Verdict::kUnproven, "Unproven: not a fair test, other programs took 0.30 of 4 CPUs",
     "background-cpu"},
    {"DroppedWhileTheyLeftTooLittle",
     [](Evidence& e) {
       OthersTake(e, 3.5);
       Drop(e, 100, 30, bench::Stage::kEncode);
     },
     false, Verdict::kUnproven, "Unproven: not a fair test, other programs took 3.50 of 4 CPUs",
     "background-cpu"},
    {"DroppedWhileTheyLeftEnough",
     [](Evidence& e) {
       OthersTake(e, 0.3);
       Drop(e, 100, 30, bench::Stage::kEncode);
     },
     false, Verdict::kShort,
     "it is short without them too: 100 of 100 dropped frames were dropped while what they left "
     "was enough",
     "drops-encode"},
    {"NeedsMoreThanThePcHas",
     [](Evidence& e) {
       EncodeNeeds(e, 5);
       OthersTake(e, 1);
       Drop(e, 100, 30, bench::Stage::kEncode);
     },
     false, Verdict::kShort, "without them too: 5 CPUs are needed and this PC has 4 to use",
     "drops-encode"},
    {"DroppedInTheirBurst",
     [](Evidence& e) {
       OthersTake(e, 3.9, 28, 40);
       Drop(e, 100, 32, bench::Stage::kEncode);
     },
     false, Verdict::kUnproven, "Unproven: not a fair test", "background-cpu"},
    {"DroppedLongAfterTheirBurst",
     [](Evidence& e) {
       OthersTake(e, 3.9, 28, 40);
       Drop(e, 100, 60, bench::Stage::kEncode);
     },
     false, Verdict::kShort, "without them too", "drops-encode"},
    {"TheKernelsThreadsServeEverybody",
     [](Evidence& e) {
       OthersTake(e, 0.5);
       e.telemetry->kernel_cpu_seconds = 0.45 * 70;
     },
     true, Verdict::kReady, "Ready: ", ""},
    {"InterruptsAreNobodysProgram",
     [](Evidence& e) {
       OthersTake(e, 0.5);
       for (probes::TelemetrySample& sample : e.telemetry->samples) {
         sample.interrupt_cpus = 0.45;
       }
     },
     true, Verdict::kReady, "Ready: ", ""},
    {"ALinkIsTooSmallWhateverOthersDo",
     [](Evidence& e) {
       OthersTake(e, 0.3);
       e.demand.sources[0].bytes_per_second = 498e6;
     },
     false, Verdict::kShort, "it is short without them too: overloaded: usb", ""},
    {"AllowedDropsMakeNoFairTest",
     [](Evidence& e) {
       OthersTake(e, 3.5);
       Drop(e, 1, 30, bench::Stage::kEncode);
       e.profile.margins.allowed_drops_per_hour = 60;
     },
     false, Verdict::kUnproven, "not a fair test", "background-cpu"},
    {"SlowAtFullSpeedBesideThem",
     [](Evidence& e) {
       OthersTake(e, 2);
       e.results.flat_out->speed = 0.9;
       Drop(e, 3, 30, bench::Stage::kEncode);
       e.results.rehearsal->stages.push_back(
           {bench::Stage::kEncode, "Recording + Stream", 300, 25});
     },
     false, Verdict::kUnproven, "not a fair test", "background-cpu"},
    {"SlowAtFullSpeedAlsoWithoutThem",
     [](Evidence& e) {
       OthersTake(e, 0.2);
       e.results.flat_out->speed = 0.5;
       Drop(e, 3, 30, bench::Stage::kEncode);
     },
     false, Verdict::kShort, "without them too", ""},
    {"TheDiskIsLargeEnoughForBoth", [](Evidence& e) { OthersWrite(e, 190e6); }, true,
     Verdict::kReady, "Ready: ", ""},
    {"TheDiskIsNotLargeEnoughForBoth",
     [](Evidence& e) {
       OthersWrite(e, 240e6);
       Drop(e, 9, 30, bench::Stage::kWrite);
     },
     false, Verdict::kUnproven, "not a fair test, other programs read and wrote 240 MB/s",
     "background-disk"},
    {"TheDiskWasBusyForOthersAndNotMeasured",
     [](Evidence& e) {
       OthersWrite(e, 3.2e6);  // of 4 MB/s in half of the time: two fifths of the time
       e.results.disks.clear();
       e.length = kRehearsalOnly;
     },
     false, Verdict::kUnproven, "not a fair test", "background-disk"},
    {"NotSampled", [](Evidence& e) { e.telemetry.reset(); }, std::nullopt, Verdict::kUnproven,
     "was not read: nothing was sampled", ""},
    {"NothingWasRun",
     [](Evidence& e) {
       e.results = {};
       e.telemetry.reset();
     },
     std::nullopt, Verdict::kUnproven, "Unproven: ", ""},
};

class FairTable : public ::testing::TestWithParam<FairCase> {};

TEST_P(FairTable, FollowsFromWhatWasLeft) {
  Evidence evidence = GoodEvidence();
  GetParam().change(evidence);
  const Document document = Assess(evidence);
  ExpectStopsAndVerdictAgree(document);
  EXPECT_EQ(document.fair_test.fair, GetParam().fair) << document.fair_test.not_known;
  EXPECT_EQ(document.verdict, GetParam().verdict) << document.headline;
  EXPECT_THAT(document.headline, HasSubstr(GetParam().headline));
  if (*GetParam().first_repair != 0) {
    const Finding* first = FirstRepair(document);
    ASSERT_NE(first, nullptr);
    EXPECT_EQ(first->id, GetParam().first_repair);
  }
}

INSTANTIATE_TEST_SUITE_P(Fair, FairTable, ::testing::ValuesIn(kCases),
                         [](const auto& each) { return std::string(each.param.name); });

TEST(FairTest, NamesThemAndTheCommandThatIsFair) {
  Evidence evidence = GoodEvidence();
  OthersTake(evidence, 1.5);
  evidence.telemetry->others = {{"indexer", 99, 84}, {"player", 12, 14}, {"player", 13, 7}};
  const Document document = Assess(evidence);
  EXPECT_THAT(document.headline, HasSubstr("other programs took 1.50 of 4 CPUs: indexer (process "
                                           "99) 1.20, player (2 processes) 0.30"));
  EXPECT_THAT(document.reasons,
              ::testing::Contains(HasSubstr("then run: rigproof qualify two-camera-talk")));
  ASSERT_TRUE(document.fair_test.during);
  EXPECT_THAT(document.fair_test.during->programs, ::testing::SizeIs(2));
}

TEST(FairTest, ClockTicksThatDoNotAddUpAreNobodysProgram) {
  Evidence evidence = GoodEvidence();
  evidence.telemetry->watched_s = 70;
  evidence.inventory.cpu.threads = 16;
  evidence.inventory.cpu.usable_cpus = 16.0;
  for (probes::TelemetrySample& sample : evidence.telemetry->samples) {
    sample.own_cpus = 8;
    sample.busy_cpus = 8.35;
  }
  EXPECT_EQ(Assess(evidence).fair_test.fair, true);
  evidence.telemetry->others = {{"indexer", 99, 0.3 * 70}};
  EXPECT_EQ(Assess(evidence).fair_test.fair, false);
  evidence.telemetry->others = {};  // none that is seen, as from within a container
  for (probes::TelemetrySample& sample : evidence.telemetry->samples) {
    sample.busy_cpus = 10;
  }
  EXPECT_EQ(Assess(evidence).fair_test.fair, false);
}

TEST(FairTest, WhatWasNotReadIsSaidAndIsNotZero) {
  Evidence evidence = GoodEvidence();
  for (probes::TelemetrySample& sample : evidence.telemetry->samples) {
    sample.disk_write_bytes_per_second.reset();
  }
  const Document document = Assess(evidence);
  ASSERT_TRUE(document.fair_test.during);
  EXPECT_FALSE(document.fair_test.during->disk_bytes_per_second.known());
  EXPECT_FALSE(document.fair_test.during->disk_bytes_per_second.why_unknown().empty());
  EXPECT_FALSE(document.fair_test.during->network_bytes_per_second.known());
}

probes::TelemetryRecord TwoSeconds(double others) {
  probes::TelemetryRecord record;
  record.watched_s = 2;
  for (const double at_s : {0.5, 1.0, 1.5, 2.0}) {
    probes::TelemetrySample sample;
    sample.at_s = at_s;
    sample.own_cpus = 0.02;
    sample.busy_cpus = 0.02 + others;
    record.samples.push_back(sample);
  }
  record.others = {{"indexer", 99, 2 * others}};
  return record;
}

TEST(DisturbanceBefore, NamesWhoWouldSpoilTheTest) {
  Evidence evidence = GoodEvidence();
  evidence.before = TwoSeconds(0.8);
  const Disturbance busy = DisturbanceBefore(evidence);
  ASSERT_EQ(busy.taken.size(), 1U);
  EXPECT_THAT(busy.taken[0], HasSubstr("took 0.80 of 4 CPUs: indexer (process 99) 0.80"));
  evidence.before = TwoSeconds(0.05);
  EXPECT_TRUE(DisturbanceBefore(evidence).taken.empty());
  EXPECT_THAT(DisturbanceBefore(evidence).not_read,
              ::testing::Contains(HasSubstr("disk")));  // no counters of one in these samples
  evidence.before.reset();
  EXPECT_FALSE(DisturbanceBefore(evidence).not_read.empty());
}

}  // namespace
}  // namespace report::testing
