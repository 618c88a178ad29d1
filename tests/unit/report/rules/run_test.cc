// SPDX-License-Identifier: Apache-2.0
//
// Rules on the rehearsal and on what else took the CPU.

#include <gtest/gtest.h>

#include "report/rules/all.h"
#include "report/rules/bearings.h"
#include "tests/support/rule_case.h"

namespace report::testing {
namespace {

void OthersTake(Evidence& e, double cpus) {
  for (probes::TelemetrySample& sample : e.telemetry->samples) {
    sample.busy_cpus = 1 + cpus;  // ours take one
  }
  e.telemetry->watched_s = 70;
  e.telemetry->others.push_back({.name = "indexer", .pid = 99, .cpu_seconds = 30});
}

/// The disk was measured at 200 MB/s.
void OthersWrite(Evidence& e, double bytes_per_second) {
  for (probes::TelemetrySample& sample : e.telemetry->samples) {
    sample.own_disk_bytes_per_second = 800e3;
    sample.disk_write_bytes_per_second = 800e3 + bytes_per_second;
    sample.disk_read_bytes_per_second = 0;
  }
}

void HostTakes(Evidence& e, double cpus) {
  for (probes::TelemetrySample& sample : e.telemetry->samples) {
    sample.steal_cpus = cpus;
  }
}

void Resident(Evidence& e, std::int64_t peak_bytes) {
  e.results.rehearsal->predicted_resident_bytes = 300'000'000;
  e.results.rehearsal->peak_resident_bytes = peak_bytes;
}

bench::OutputLedger& Output(Evidence& e) {
  return e.results.rehearsal->outputs[0];
}

const std::vector<RuleCase> kRunCases = {
    {"drops-encode",
     Severity::kStop,
     [](Evidence& e) {
       Drop(e, 5, 20.5, bench::Stage::kEncode);
       Drop(e, 2, 40.25, bench::Stage::kEncode);
     },
     [](Evidence& e) { Drop(e, 5, 3, bench::Stage::kEncode); },
     {"7 frames were dropped at the encode stage", "between 20.5 s and 40.2 s",
      "5 frames of Recording", "cause not known: 7 frames"}},
    {"drops-write",
     Severity::kWarn,
     [](Evidence& e) {
       Drop(e, 1, 30, bench::Stage::kWrite);
       e.profile.margins.allowed_drops_per_hour = 60;
     },
     [](Evidence&) {},
     {"1 frame was dropped at the write stage, at 30.0 s"}},
    {"drops-receive",
     Severity::kStop,
     [](Evidence& e) { Drop(e, 4, 25, bench::Stage::kReceive); },
     [](Evidence& e) { Drop(e, 4, 25, bench::Stage::kDecode); },
     {"4 frames were dropped at the receive stage"}},
    {"drops-unplaced",
     Severity::kStop,
     [](Evidence& e) {
       Output(e).dropped = 3;
       Output(e).delivered -= 3;
     },
     [](Evidence& e) { Drop(e, 3, 30, bench::Stage::kSend); },
     {"3 frames were dropped"}},
    {"rehearsal-incomplete",
     Severity::kWarn,
     [](Evidence& e) {
       e.results.rehearsal->complete = false;
       e.results.rehearsal->stopped_because = "interrupted";
     },
     [](Evidence&) {},
     {"1 min 10 s", "interrupted"}},
    {"output-failed",
     Severity::kWarn,
     [](Evidence& e) { Output(e).failure = "No space left on device"; },
     [](Evidence&) {},
     {"Recording", "No space left on device"}},
    {"frames-late",
     Severity::kNote,
     [](Evidence& e) { Output(e).late = 22; },
     [](Evidence& e) { Output(e).late = 21; },
     {"1.0 %", "Recording"}},
    {"memory-prediction",
     Severity::kNote,
     [](Evidence& e) { Resident(e, 361'000'000); },
     [](Evidence& e) { Resident(e, 359'000'000); },
     {"more memory than computed", "361 MB", "+20 %"}},
    {"background-cpu",
     Severity::kWarn,
     [](Evidence& e) { OthersTake(e, 0.41); },
     [](Evidence& e) { OthersTake(e, 0.09); },
     {"0.41 of 4 CPUs", "indexer (process 99) 0.43", "rigproof qualify two-camera-talk"}},
    {"background-disk",
     Severity::kWarn,
     [](Evidence& e) { OthersWrite(e, 240e6); },
     [](Evidence& e) { OthersWrite(e, 190e6); },
     {"240 MB/s", "which ones could not be seen"}},
    {"host-steal",
     Severity::kWarn,
     [](Evidence& e) { HostTakes(e, 0.05); },
     [](Evidence& e) { HostTakes(e, 0.039); },
     {"0.05 of 4 CPUs"}},
    {"cpu-quota",
     Severity::kWarn,
     [](Evidence& e) { e.telemetry->quota_throttled_seconds = 12; },
     [](Evidence&) {},
     {"12 s"}},
};

INSTANTIATE_TEST_SUITE_P(Run, RuleTest, ::testing::ValuesIn(kRunCases), NameOf);

TEST(AllFindings, ComeStopWarnNote) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.cpu.boost_enabled = true;
  evidence.inventory.settings.on_mains = false;
  Drop(evidence, 5, 20, bench::Stage::kEncode);
  const Document document = Assess(evidence);
  for (std::size_t i = 1; i < document.findings.size(); ++i) {
    EXPECT_LE(static_cast<int>(document.findings[i - 1].severity),
              static_cast<int>(document.findings[i].severity));
  }
  EXPECT_EQ(document.findings.front().id, "drops-encode");
}

// Whoever adds a rule says what it bears on, if only that it bears on nothing.
TEST(AllRules, StandInTheTableOfWhatTheyBearOn) {
  const auto rules = rules::AllRules();
  EXPECT_GT(rules.size(), 50U);
  for (std::size_t i = 0; i < rules.size(); ++i) {
    EXPECT_TRUE(rules::HasBearing(rules[i])) << "rule " << i << " of report/rules/all.cc";
    EXPECT_EQ(std::count(rules.begin(), rules.end(), rules[i]), 1) << "rule " << i;
  }
  EXPECT_FALSE(rules::HasBearing([](const rules::RuleInput&, std::vector<Finding>&) {}));
}

TEST(AllFindings, AWellSetUpPcHasOnlyTheUplinkLeft) {
  const Document document = Assess(GoodEvidence());
  ASSERT_EQ(document.findings.size(), 1U);
  EXPECT_EQ(document.findings[0].id, "uplink-unmeasured");
}

}  // namespace
}  // namespace report::testing
