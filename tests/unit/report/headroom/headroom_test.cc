// SPDX-License-Identifier: Apache-2.0
//
// Headroom rows: where demand and capacity come from, and their order.

#include "report/headroom/headroom.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/assess/assess.h"
#include "tests/support/evidence_builder.h"
#include "tests/support/two_cameras.h"

namespace report::testing {
namespace {

using ::testing::HasSubstr;

TEST(HeadroomPercent, IsOfCapacity) {
  EXPECT_DOUBLE_EQ(HeadroomPercent(75, 100), 25);
  EXPECT_DOUBLE_EQ(HeadroomPercent(150, 100), -50);
  EXPECT_DOUBLE_EQ(HeadroomPercent(1, 0), -999);
  EXPECT_DOUBLE_EQ(HeadroomPercent(0, 0), 0);
  EXPECT_DOUBLE_EQ(HeadroomPercent(1e12, 1), -999);
}

TEST(CpuHeadroomRow, TakesOffWhatOthersTook) {
  Evidence evidence = GoodEvidence();
  for (auto& sample : evidence.telemetry->samples) {
    sample.busy_cpus = 2;
    sample.steal_cpus = 0.5;
  }
  const Document document = Assess(evidence);
  const Headroom* row = Row(document, "cpu");
  ASSERT_NE(row, nullptr);
  EXPECT_DOUBLE_EQ(row->demand, 1);
  EXPECT_DOUBLE_EQ(*row->capacity, 2.5);
  EXPECT_EQ(row->basis, Basis::kMeasured);
}

TEST(CpuHeadroomRow, LeavesTheWarmUpOut) {
  Evidence evidence = GoodEvidence();
  evidence.telemetry->samples.resize(12);
  for (std::size_t i = 0; i < 10; ++i) {
    evidence.telemetry->samples[i].own_cpus = 4;
  }
  const Document document = Assess(evidence);
  EXPECT_DOUBLE_EQ(Row(document, "cpu")->demand, 1);
}

TEST(CpuHeadroomRow, AQuotaIsNotUsedUpByOthersOnOtherCpus) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.cpu.usable_cpus = 1.5;
  for (auto& sample : evidence.telemetry->samples) {
    sample.busy_cpus = 2.5;
  }
  const Document document = Assess(evidence);
  EXPECT_DOUBLE_EQ(*Row(document, "cpu")->capacity, 1.5);
}

TEST(CpuHeadroomRow, FallsBackToProcessTimeWithoutTelemetry) {
  Evidence evidence = GoodEvidence();
  evidence.telemetry.reset();
  evidence.results.rehearsal->cpu_seconds = 140;
  const Document document = Assess(evidence);
  EXPECT_DOUBLE_EQ(Row(document, "cpu")->demand, 2);
}

/// What a machine does not tell is no CPU that is free.
TEST(CpuHeadroomRow, IsUnprovenWhereWhatOthersTookWasNotRead) {
  Evidence evidence = GoodEvidence();
  for (auto& sample : evidence.telemetry->samples) {
    sample.busy_cpus.reset();
    sample.steal_cpus.reset();
  }
  evidence.telemetry->cpu_use_not_read = "CPU use: /proc/stat: permission denied";
  Document document = Assess(evidence);
  const Headroom* row = Row(document, "cpu");
  ASSERT_NE(row, nullptr);
  EXPECT_DOUBLE_EQ(row->demand, 1);
  EXPECT_FALSE(row->capacity);
  EXPECT_FALSE(row->headroom_percent);
  EXPECT_THAT(row->source, HasSubstr("permission denied"));
  EXPECT_FALSE(row->how_to_prove.empty());
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
  evidence.telemetry.reset();
  document = Assess(evidence);
  EXPECT_FALSE(Row(document, "cpu")->capacity);
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
}

TEST(CpuHeadroomRow, IsUnprovenWhereOurOwnUseWasNotRead) {
  Evidence evidence = GoodEvidence();
  evidence.results.rehearsal->cpu_seconds = 0;
  for (auto& sample : evidence.telemetry->samples) {
    sample.own_cpus.reset();
  }
  const Document document = Assess(evidence);
  EXPECT_FALSE(Row(document, "cpu")->capacity);
  EXPECT_THAT(Row(document, "cpu")->source, HasSubstr("was not read"));
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
}

/// 86 of 100 frames were dropped before they cost anything: they were due all the same.
TEST(CpuHeadroomRow, CountsTheWorkThatWasDueAndDropped) {
  Evidence evidence = TwoCameras();
  for (bench::StageCost& stage : evidence.results.rehearsal->stages) {
    stage.frames = 252;
    stage.cpu_seconds *= 0.14;
  }
  for (auto& sample : evidence.telemetry->samples) {
    sample.own_cpus = sample.busy_cpus = 0.14 * 1.1;
  }
  Drop(evidence, 1548, 20, bench::Stage::kEncode);
  const Document document = Assess(evidence);
  EXPECT_NEAR(Row(document, "cpu")->demand, 1.1, 1e-9);  // 66 s of CPU for 60 s of pictures
}

TEST(CpuHeadroomRow, LeavesOutWhatSimulatingTook) {
  Evidence evidence = GoodEvidence();
  evidence.results.rehearsal->simulation_cpu_seconds = 0.25 * evidence.results.rehearsal->seconds;
  const Document document = Assess(evidence);
  const Headroom* row = Row(document, "cpu");
  ASSERT_NE(row, nullptr);
  EXPECT_DOUBLE_EQ(row->demand, 0.75);
  EXPECT_THAT(row->source, HasSubstr("less 0.25 for simulating"));
  EXPECT_THAT(document.method, ::testing::Contains(HasSubstr("Cost of simulating: 17.50 s")));
}

TEST(Method, TellsWhatTheSocketsOfNetworkSourcesSaw) {
  Evidence evidence = GoodEvidence();
  bench::FeedLedger& feed = evidence.results.rehearsal->feeds[0];
  feed.transport = "rtp";
  feed.packets_received = 98'765;
  feed.packets_lost = 12;
  EXPECT_THAT(Assess(evidence).method,
              ::testing::Contains(HasSubstr("98765 RTP packets over UDP, 12 lost")));
}

TEST(EncoderHeadroomRow, ComesFromCostsWhenNothingRanFlatOut) {
  Evidence evidence = GoodEvidence();
  evidence.results.flat_out.reset();
  bench::CostTable costs;
  costs.entries.push_back(Cost(bench::Stage::kEncode, "1280x720 libx264 low talk", 20));
  evidence.results.costs = costs;
  // The rehearsal's 1 CPU fits 3.705 times into 95 % of the 3.9 that others left; recording and
  // stream ask for the same encode, 30 frames a second at 20 ms, which fits more often.
  EXPECT_NEAR(*Row(Assess(evidence), "encoder")->capacity, 0.95 * 3.9, 1e-9);
  EXPECT_EQ(Row(Assess(evidence), "encoder")->basis, Basis::kAssumed);
  evidence.profile.outputs[1].bitrate_kbps += 1000;
  // Two encodes of 30 frames a second at 20 ms each: 1.2 of 3.9 CPUs.
  EXPECT_NEAR(*Row(Assess(evidence), "encoder")->capacity, 3.9 / 1.2, 1e-9);
  evidence.results.rehearsal.reset();
  const Document document = Assess(evidence);
  const Headroom* row = Row(document, "encoder");
  EXPECT_DOUBLE_EQ(row->demand, 1.2);
  EXPECT_DOUBLE_EQ(*row->capacity, 4);
  EXPECT_EQ(row->basis, Basis::kComputed);
}

TEST(EncoderHeadroomRow, CostsOfAnotherRasterProveNothing) {
  Evidence evidence = GoodEvidence();
  evidence.results.flat_out.reset();
  bench::CostTable costs;
  costs.entries.push_back(Cost(bench::Stage::kEncode, "1920x1080 libx264 low talk", 20));
  evidence.results.costs = costs;
  const Document document = Assess(evidence);
  EXPECT_FALSE(Row(document, "encoder")->capacity);
  EXPECT_THAT(Row(document, "encoder")->how_to_prove, HasSubstr("qualify"));
}

TEST(MemoryHeadroomRow, ComputesThePoolWhereNothingRan) {
  Evidence evidence = GoodEvidence();
  evidence.results.rehearsal.reset();
  const Document document = Assess(evidence);
  EXPECT_DOUBLE_EQ(Row(document, "memory")->demand, 300e6);
  EXPECT_EQ(Row(document, "memory")->basis, Basis::kRead);
}

TEST(SpaceHeadroomRow, KeepsTwoGibibytesOfASmallDisk) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.storage[0].size_bytes = std::int64_t{10'000'000'000};
  evidence.inventory.storage[0].free_bytes = std::int64_t{8'000'000'000};
  const Document document = Assess(evidence);
  EXPECT_DOUBLE_EQ(*Row(document, "space")->capacity, 8e9 - 2147483648.0);
}

TEST(DiskHeadroomRow, AddsUpOutputsOfOneFilesystem) {
  Evidence evidence = GoodEvidence();
  evidence.profile.outputs[1].kind = profiles::OutputKind::kIso;
  evidence.profile.outputs[1].folder = "/recordings/iso";
  evidence.demand.outputs[1].disk_bytes_per_second = 1.2e6;
  probes::StorageInventory second = evidence.inventory.storage[0];
  second.folder = "/recordings/iso";
  evidence.inventory.storage.push_back(second);
  const Document document = Assess(evidence);
  EXPECT_DOUBLE_EQ(Row(document, "disk")->demand, 2e6);
  EXPECT_DOUBLE_EQ(*Row(document, "disk")->capacity, 200e6);
}

TEST(DiskHeadroomRow, KeepsTwoDisksApart) {
  Evidence evidence = GoodEvidence();
  evidence.profile.outputs[1].kind = profiles::OutputKind::kIso;
  evidence.profile.outputs[1].folder = "/iso";
  evidence.demand.outputs[1].disk_bytes_per_second = 1.2e6;
  probes::StorageInventory second = evidence.inventory.storage[0];
  second.folder = "/iso";
  second.mount_point = std::string("/iso");
  evidence.inventory.storage.push_back(second);
  const Document document = Assess(evidence);
  // The second disk was not measured.
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
  EXPECT_THAT(document.headline, HasSubstr("/iso"));
}

TEST(UsbHeadroomRow, ControllerBeyondOnePortIsUnproven) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.usb.devices.pop_back();
  evidence.inventory.usb.devices.push_back(Capture("2-2", "usb2", 2, 5000));
  for (auto& source : evidence.demand.sources) {
    source.bytes_per_second = 250e6;
  }
  const Document document = Assess(evidence);
  EXPECT_EQ(document.verdict, Verdict::kUnproven);
  EXPECT_THAT(document.headline, HasSubstr("USB controller 0000:00:14.0"));
}

TEST(NetworkHeadroomRow, HalvesAWirelessLinkAndSaysSo) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.network.links[0].wireless = true;
  const Document document = Assess(evidence);
  EXPECT_DOUBLE_EQ(*Row(document, "network")->capacity, 500e6);
  EXPECT_EQ(Row(document, "network")->basis, Basis::kAssumed);
}

TEST(AllHeadroomRows, ComeOverThenUnknownThenTightest) {
  Evidence evidence = GoodEvidence();
  evidence.results.disks.clear();
  evidence.results.flat_out->speed = 0.5;
  Drop(evidence, 1, 30, bench::Stage::kEncode);  // without a drop, real time has been shown
  const Document document = Assess(evidence);
  ASSERT_GT(document.headroom.size(), 4U);
  EXPECT_EQ(document.headroom[0].resource, Resource::kEncoder);
  EXPECT_EQ(document.headroom[1].resource, Resource::kDisk);
  for (std::size_t i = 3; i < document.headroom.size(); ++i) {
    const Headroom& a = document.headroom[i - 1];
    const Headroom& b = document.headroom[i];
    EXPECT_LE(*a.headroom_percent - a.margin_percent, *b.headroom_percent - b.margin_percent);
  }
}

TEST(AllHeadroomRows, SayWhereEveryFigureComesFrom) {
  for (const Headroom& row : Assess(GoodEvidence()).headroom) {
    EXPECT_FALSE(row.source.empty()) << base::WordOf(row.resource);
    EXPECT_FALSE(row.unit.empty()) << base::WordOf(row.resource);
  }
  Evidence survey = GoodEvidence();
  survey.results = {};
  for (const Headroom& row : Assess(survey).headroom) {
    EXPECT_EQ(row.capacity.has_value(), row.how_to_prove.empty()) << base::WordOf(row.resource);
  }
}

}  // namespace
}  // namespace report::testing
