// SPDX-License-Identifier: Apache-2.0
//
// Room for more sources: sums worked by hand, limits of each resource, what is not told.

#include "report/predict/room.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/demand/demand.h"
#include "profiles/text/growth.h"
#include "report/assess/assess.h"
#include "report/data/writers.h"
#include "report/predict/size_resources.h"
#include "report/show/rows/room.h"
#include "tests/support/evidence_builder.h"
#include "tests/support/two_cameras.h"

namespace report {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

using ::testing::StartsWith;
using testing::TwoCameras;

bench::CapacitySearch Searched() {
  bench::CapacitySearch search;
  search.like = "Left";
  search.predicted = 9;
  search.limit = 14;
  search.confirmed = 8;
  search.seconds = 31;
  search.runs = {{9, 8, 2000, 40, 0.99, false, bench::Stage::kEncode},
                 {8, 8, 2000, 0, 0.88, true, bench::Stage::kNone}};
  return search;
}

SourceRoom RoomOf(const Evidence& evidence) {
  const auto capacity = PredictCapacity(evidence);
  EXPECT_TRUE(capacity);
  return capacity && !capacity->sources.empty() ? capacity->sources.front() : SourceRoom{};
}

const ResourceShare* Share(const SourceRoom& room, const std::string& resource) {
  const auto found = std::find_if(room.shares.begin(), room.shares.end(), [&](const auto& share) {
    return base::WordOf(share.resource) == resource;
  });
  return found == room.shares.end() ? nullptr : &*found;
}

TEST(PredictCapacity, FillsTheCpusThatThereAre) {
  const Evidence evidence = TwoCameras();
  const SourceRoom room = RoomOf(evidence);
  // 95 % of 4 CPUs less 1.1 in use, at 0.3 each: 2.7 / 0.3.
  EXPECT_EQ(room.predicted, 9);
  EXPECT_EQ(room.limited_by, "cpu");
  EXPECT_LE(room.lowest, room.predicted);
  EXPECT_GE(room.highest, room.predicted);
  // 25 % of 4 CPUs stay free: 1.9 / 0.3; a quarter of the speed too: 0.75 x 3.8 - 1.1.
  EXPECT_EQ(room.within_margins, 5);
  EXPECT_EQ(room.present, 2);
  EXPECT_EQ(room.what, "1280x720 yuyv422 at 30 by usb, with 1 iso");
  const auto capacity = PredictCapacity(evidence);
  EXPECT_EQ(capacity->added_sources_predicted, 9);
  EXPECT_THAT(capacity->interval, ElementsAre(room.lowest, room.highest));
  EXPECT_FALSE(capacity->added_sources_confirmed);
}

TEST(PredictCapacity, ASpeedThatUsedTheCpusUpIsTheCapacity) {
  Evidence evidence = TwoCameras();
  // 3.8 of 4 CPUs; the first two windows are warm-up.
  evidence.results.flat_out = {.complete = true,
                               .stopped_because = "",
                               .seconds = 10,
                               .speed = 2,
                               .window_speeds = {9, 9, 1.5, 2, 2, 2, 2.5},
                               .cpu_seconds = 38};
  // Twice 1.1 CPUs of work: 1.1 / 0.3.
  EXPECT_EQ(RoomOf(evidence).predicted, 3);
  evidence.results.flat_out->cpu_seconds = 15;  // held up by something else than CPU
  EXPECT_EQ(RoomOf(evidence).predicted, 9);
}

TEST(PredictCapacity, ALightProductionsSpeedFlatOutIsNotAllCapacity) {
  Evidence evidence = TwoCameras();
  evidence.results.flat_out = {.complete = true,
                               .stopped_because = "",
                               .seconds = 10,
                               .speed = 5,
                               .window_speeds = {5, 5, 5, 5},
                               .cpu_seconds = 38};
  // By its cost in real time 3.8, flat out 5.5: their geometric mean is 4.57; (4.57 - 1.1) / 0.3.
  EXPECT_EQ(RoomOf(evidence).predicted, 11);
}

bench::FlatOut AtSpeed(double speed, double cpus) {
  return {.complete = true,
          .stopped_because = "",
          .seconds = 10,
          .speed = speed,
          .window_speeds = {9, 9, speed, speed, speed},
          .cpu_seconds = 10 * cpus};
}

TEST(PredictCapacity, RunsWithMoreSourcesOutrankOneAlone) {
  Evidence evidence = TwoCameras();
  evidence.results.flat_out = AtSpeed(2, 3);
  // 1.1 CPUs and five times 0.3 at 1.3 times real time, with the CPUs used up: 3.38 in real time.
  evidence.results.grown_flat_out = {{"Left", 5, AtSpeed(1.3, 3.7)}};
  EXPECT_EQ(RoomOf(evidence).predicted, 7);
  // The boundary lies between two runs: by a power law from 3.2 at 1.1 to 3.5 at 0.8, at 3.29.
  evidence.results.grown_flat_out.push_back({"Left", 7, AtSpeed(1.1, 3.8)});
  evidence.results.grown_flat_out.push_back({"Left", 8, AtSpeed(0.8, 3.8)});
  EXPECT_EQ(RoomOf(evidence).predicted, 7);
  EXPECT_EQ(RoomOf(evidence).limited_by, "cpu");
  EXPECT_THAT(PredictCapacity(evidence)->basis[2], HasSubstr("3 full-speed runs"));
}

TEST(PredictCapacity, MeasuredAmongManyAFeedMayCostLess) {
  Evidence evidence = TwoCameras();
  // By what it costs alone 4 CPUs carry nine more; among twelve it costs less.
  evidence.results.grown_flat_out = {{"Left", 12, AtSpeed(1.02, 3.9)}};
  evidence.results.flat_out = AtSpeed(3, 3);
  EXPECT_EQ(RoomOf(evidence).predicted, 12);
  // A run that was cut short tells nothing.
  evidence.results.grown_flat_out[0].run.complete = false;
  EXPECT_EQ(RoomOf(evidence).predicted, 9);
}

TEST(PredictCapacity, TheIntervalIsNarrowerWhereMoreWereMeasured) {
  Evidence evidence = TwoCameras();
  evidence.results.flat_out = AtSpeed(2, 3);
  const SourceRoom alone = RoomOf(evidence);
  evidence.results.grown_flat_out = {{"Left", 9, AtSpeed(1.01, 3.9)}};
  const SourceRoom among = RoomOf(evidence);
  EXPECT_EQ(among.predicted, 9);
  EXPECT_GE(among.lowest, alone.lowest);
  EXPECT_LT(among.highest - among.lowest, alone.highest - alone.lowest);
}

TEST(PredictCapacity, ARunWithMoreThatWasFasterOutranksADisturbedOne) {
  Evidence evidence = TwoCameras();
  evidence.results.flat_out = AtSpeed(0.8, 2);  // it held in real time all the same
  EXPECT_EQ(RoomOf(evidence).predicted, 0);
  evidence.results.grown_flat_out = {{"Left", 2, AtSpeed(1.2, 3)}};
  EXPECT_GE(RoomOf(evidence).predicted, 2);
  const Document document = Assess(evidence);
  const auto row =
      std::find_if(document.headroom.begin(), document.headroom.end(),
                   [](const Headroom& one) { return one.resource == Resource::kEncoder; });
  ASSERT_NE(row, document.headroom.end());
  EXPECT_NEAR(*row->capacity, 1.2, 1e-9);
  EXPECT_THAT(row->source, HasSubstr("with 2 more sources"));
}

TEST(MoreToMeasure, AsksForWhatIsPredictedAndThenForOneMore) {
  Evidence evidence = TwoCameras();
  evidence.results.flat_out = AtSpeed(2, 3);
  EXPECT_EQ(MoreToMeasure(evidence), RoomOf(evidence).predicted);
  evidence.results.grown_flat_out = {{"Left", 5, AtSpeed(1.3, 3.7)}};
  EXPECT_EQ(MoreToMeasure(evidence), 7);
  evidence.results.grown_flat_out.push_back({"Left", 7, AtSpeed(1.1, 3.8)});
  EXPECT_EQ(MoreToMeasure(evidence), 8);
  evidence.results.grown_flat_out.push_back({"Left", 8, AtSpeed(0.8, 3.8)});
  EXPECT_FALSE(MoreToMeasure(evidence));
}

TEST(MoreToMeasure, AsksForNothingWhereTheProductionDoesNotHold) {
  Evidence evidence = TwoCameras();
  testing::Drop(evidence, 500, 20, bench::Stage::kEncode);
  EXPECT_FALSE(MoreToMeasure(evidence));
  evidence = TwoCameras();
  evidence.results.rehearsal.reset();
  EXPECT_FALSE(MoreToMeasure(evidence));
}

/// Whatever was measured, room for more is where sizing says that one more is too much.
TEST(PredictCapacity, IsRepeatedSizing) {
  std::mt19937 random(20261201);
  const auto some = [&random](double from, double to) {
    return std::uniform_real_distribution<double>(from, to)(random);
  };
  for (int round = 0; round < 60; ++round) {
    Evidence evidence = TwoCameras();
    evidence.inventory.cpu.threads = 16;
    evidence.inventory.cpu.usable_cpus = some(1.2, 8);
    evidence.results.disks[0].sustained_bytes_per_second =
        evidence.demand.disk_bytes_per_second * some(0.8, 6);
    evidence.results.flat_out = AtSpeed(some(1, 5), some(1, 6));
    for (int runs = round % 4; runs > 0; --runs) {
      const int added = 1 + static_cast<int>(random() % 12);
      evidence.results.grown_flat_out.push_back({"Right", added, AtSpeed(some(0.5, 3), 4)});
    }
    const SourceRoom room = RoomOf(evidence);
    const Sizer sizer(evidence);
    const auto verdict_of = [&](int added) {
      return sizer.Size(*profiles::WithMoreSources(evidence.profile, room.like, added)).verdict;
    };
    SCOPED_TRACE(round);
    EXPECT_LE(room.lowest, room.predicted);
    EXPECT_LE(room.predicted, room.highest);
    EXPECT_LE(room.within_margins, room.predicted);
    for (int added = 1; added <= room.predicted; ++added) {
      EXPECT_NE(verdict_of(added), Verdict::kShort) << added;
    }
    if (room.predicted < room.limit) {
      EXPECT_EQ(verdict_of(room.predicted + 1), Verdict::kShort);
    }
  }
}

TEST(PredictCapacity, WorkersThatWaitForEachOtherDoLess) {
  Evidence evidence = TwoCameras();
  bench::Contention contention;
  // alpha 0.1: C(2) = 2 / 1.1, C(4) = 4 / 1.3 = 3.077.
  contention.points = {{1, 100}, {2, 200 / 1.1}, {4, 400 / 1.3}};
  evidence.results.contention = contention;
  // 0.95 x 3.077 - C(1.1) = 2.923 - 1.089; each 0.3 x 1.089 / 1.1 = 0.297.
  EXPECT_EQ(RoomOf(evidence).predicted, 6);
  EXPECT_THAT(PredictCapacity(evidence)->basis[1], HasSubstr("Universal Scalability Law"));
}

TEST(PredictCapacity, TheDiskMayRunOutFirst) {
  Evidence evidence = TwoCameras();
  const double each = evidence.demand.outputs[2].disk_bytes_per_second;
  evidence.results.disks[0].sustained_bytes_per_second =
      evidence.demand.disk_bytes_per_second + 2.5 * each;
  const SourceRoom room = RoomOf(evidence);
  EXPECT_EQ(room.predicted, 2);
  EXPECT_THAT(room.limited_by, StartsWith("disk"));
  ASSERT_NE(Share(room, "disk"), nullptr);
  EXPECT_NEAR(Share(room, "disk")->each, each, 1e-6);
}

TEST(PredictCapacity, MemoryTrafficMayRunOutFirst) {
  Evidence evidence = TwoCameras();
  profiles::Profile three = *profiles::WithMoreSources(evidence.profile, "Left", 1);
  const double now = evidence.demand.memory_traffic_bytes_per_second;
  const double each = profiles::SumDemand(three).memory_traffic_bytes_per_second - now;
  bench::Contention contention;
  contention.memory_bytes_per_second = now + 1.5 * each;
  evidence.results.contention = contention;
  const SourceRoom room = RoomOf(evidence);
  EXPECT_EQ(room.predicted, 1);
  EXPECT_EQ(room.limited_by, "memory traffic");
}

/// All three encodes by a made-up hardware encoder that opens `sessions` times.
Evidence InHardware(int sessions) {
  Evidence evidence = TwoCameras();
  for (profiles::Output& output : evidence.profile.outputs) {
    output.encoder = profiles::EncoderChoice::kHardware;
  }
  evidence.demand = profiles::SumDemand(evidence.profile);
  probes::CodecTrial trial;
  trial.name = "h264_made_up";
  trial.codec = "h264";
  trial.hardware = true;
  trial.works = true;
  trial.sessions = sessions;
  evidence.inventory.codecs.tried = true;
  evidence.inventory.codecs.trials = {trial};
  return evidence;
}

TEST(PredictCapacity, HardwareSessionsMayRunOutFirst) {
  const SourceRoom room = RoomOf(InHardware(6));
  EXPECT_EQ(room.predicted, 3);
  EXPECT_THAT(room.limited_by, StartsWith("encode sessions"));
}

TEST(PredictCapacity, HardwareThroughputMayRunOutFirst) {
  Evidence evidence = InHardware(20);
  bench::HardwareEncode encoder;
  encoder.encoder = "h264_made_up";
  encoder.codec = "h264";
  encoder.width = 1280;
  encoder.height = 720;
  encoder.sessions = 12;
  encoder.all_per_second = 170;  // of 1280x720; three encodes at 30 ask 90
  evidence.results.hardware_encodes = {encoder};
  const SourceRoom room = RoomOf(evidence);
  EXPECT_EQ(room.predicted, 2);
  EXPECT_EQ(room.limited_by, "encoder: h264_made_up");
}

TEST(PredictCapacity, TheMultiviewHasOneThread) {
  Evidence evidence = TwoCameras();
  evidence.profile.multiview = profiles::Multiview{{1280, 720}, 30};
  // 0.6 CPUs; each source more a third of that: full with two.
  evidence.results.rehearsal->stages.push_back({bench::Stage::kMultiview, "", 1800, 36});
  evidence.results.rehearsal->cpu_seconds += 36;
  evidence.inventory.cpu.threads = 16;
  evidence.inventory.cpu.usable_cpus = 16.0;
  const SourceRoom room = RoomOf(evidence);
  EXPECT_EQ(room.predicted, 2);
  EXPECT_THAT(room.limited_by, HasSubstr("one thread"));
}

TEST(PredictCapacity, NothingIsAddedToWhatDropsAlready) {
  Evidence evidence = TwoCameras();
  testing::Drop(evidence, 500, 20, bench::Stage::kEncode);
  const SourceRoom room = RoomOf(evidence);
  EXPECT_EQ(room.predicted, 0);
  EXPECT_EQ(room.highest, 0);
  EXPECT_THAT(room.limited_by, HasSubstr("drops frames as it is"));
}

TEST(PredictCapacity, WhatWasCarriedIsNeverCalledTooMuch) {
  Evidence evidence = TwoCameras();
  evidence.inventory.cpu.usable_cpus = 1.11;
  const SourceRoom room = RoomOf(evidence);
  EXPECT_EQ(room.predicted, 0);
  EXPECT_EQ(room.limited_by, "cpu");
}

TEST(PredictCapacity, TellsWhatNothingTells) {
  Evidence evidence = TwoCameras();
  evidence.inventory.usb.devices.clear();
  EXPECT_THAT(RoomOf(evidence).not_told, Contains(HasSubstr("usb")));
}

TEST(PredictCapacity, EndsAtTheFormatsLimit) {
  Evidence evidence = TwoCameras();
  evidence.inventory.cpu.threads = 256;
  evidence.inventory.cpu.usable_cpus = 256.0;
  evidence.inventory.cpu.memory_available_bytes = std::int64_t{1} << 40;
  const SourceRoom room = RoomOf(evidence);
  EXPECT_EQ(room.limit, 14);  // a profile has at most 16 sources
  EXPECT_EQ(room.predicted, 14);
  EXPECT_EQ(room.limited_by, "");
  EXPECT_EQ(RoomText(room), "14 or more");
}

TEST(PredictCapacity, FiguresThatAreNoneFitNothing) {
  Evidence evidence = TwoCameras();
  evidence.results.rehearsal->stages[0].cpu_seconds = std::numeric_limits<double>::quiet_NaN();
  EXPECT_FALSE(PredictCapacity(evidence));
  evidence = TwoCameras();
  evidence.results.search = Searched();
  evidence.results.search->confirmed = std::numeric_limits<int>::max();
  evidence.results.search->limit = std::numeric_limits<int>::max();
  EXPECT_THAT(SearchText(Assess(evidence)), HasSubstr("as many as could be tried"));
  evidence.results.search->confirmed = std::numeric_limits<int>::max() - 1;
  EXPECT_THAT(SearchText(Assess(evidence)), HasSubstr("2147483647 were not"));
}

TEST(PredictCapacity, NothingWithoutARunOrWithoutKnownCpus) {
  Evidence evidence = TwoCameras();
  evidence.inventory.cpu.usable_cpus = base::Reading<double>::Unknown("not read");
  EXPECT_FALSE(PredictCapacity(evidence));
  evidence = TwoCameras();
  evidence.results.rehearsal.reset();
  EXPECT_FALSE(PredictCapacity(evidence));
}

/// The interval has to hold the truth when the cost of a source and the
/// boundary are off by what it says: here they are made to be.
TEST(PredictCapacity, TheIntervalCoversCostsThatAreOffByAFifth) {
  for (const double off : {0.82, 1.0, 1.19}) {
    for (const double cpus : {2.0, 3.0, 4.0, 6.0}) {
      Evidence evidence = TwoCameras();
      evidence.inventory.cpu.threads = 8;
      evidence.inventory.cpu.usable_cpus = cpus;
      const SourceRoom room = RoomOf(evidence);
      const int truth = static_cast<int>(std::floor((0.95 * cpus - 1.1) / (0.3 * off)));
      EXPECT_LE(room.lowest, truth) << off << " " << cpus;
      EXPECT_GE(room.highest, std::min(truth, room.limit)) << off << " " << cpus;
    }
  }
}

TEST(Capacity, TheSearchConfirmsInTheStableKey) {
  Evidence evidence = TwoCameras();
  evidence.results.search = Searched();
  const Document document = Assess(evidence);
  ASSERT_TRUE(document.capacity);
  EXPECT_EQ(document.capacity->added_sources_confirmed, 8);
  const std::string said = SearchText(document);
  EXPECT_THAT(said,
              HasSubstr("8 more like Left were carried, 9 were not (dropped in the stage encode)"));
  EXPECT_THAT(said, HasSubstr("2 rehearsals in 31 s; 9 predicted"));
  const std::string json = WriteJson(document);
  EXPECT_THAT(json, HasSubstr("\"added_sources_confirmed\": 8"));
}

TEST(Capacity, EveryWriterSaysThatItWasNotSearched) {
  const Document document = Assess(TwoCameras());
  EXPECT_THAT(WriteTerminal(document, {false, 100, true}), HasSubstr("Not searched"));
  EXPECT_THAT(WriteHtml(document), HasSubstr("Not searched"));
  EXPECT_THAT(WriteJson(document), HasSubstr("\"added_sources_confirmed\": null"));
}

TEST(Capacity, IsTheSameFromAStoredResult) {
  Evidence evidence = TwoCameras();
  evidence.results.search = Searched();
  const std::string written = WriteJson(Assess(evidence));
  auto stored = ReadStoredEvidence(written, "result.json");
  ASSERT_TRUE(stored) << stored.error().where << " " << stored.error().detail;
  EXPECT_EQ(WriteJson(Assess(*stored)), written);
}

/// Every line of the part's lists.
std::vector<std::string> NotesOf(const Document& document) {
  std::vector<std::string> texts;
  for (const show::Block& block : RoomPart(document).blocks) {
    if (const auto* lines = std::get_if<show::Lines>(&block)) {
      for (const show::Cell& line : lines->lines) {
        texts.push_back(line.text);
      }
    }
  }
  return texts;
}

/// The cells of the table of that title, row by row.
std::vector<std::vector<std::string>> RowsOf(const Document& document, const std::string& title) {
  std::vector<std::vector<std::string>> rows;
  for (const show::Block& block : RoomPart(document).blocks) {
    const auto* table = std::get_if<show::Table>(&block);
    if (table == nullptr || table->caption != title) {
      continue;
    }
    for (const auto& row : table->rows) {
      rows.emplace_back();
      for (const show::Cell& cell : row) {
        rows.back().push_back(cell.text);
      }
    }
  }
  return rows;
}

TEST(RoomPart, TellsWhatFullSpeedRunsWithMoreShowed) {
  Evidence evidence = TwoCameras();
  evidence.results.grown_flat_out = {{"Left", 5, AtSpeed(1.3, 3.7)}, {"Left", 6, {}}};
  evidence.results.grown_flat_out[1].run.stopped_because = "the disk is full";
  const auto rows = RowsOf(Assess(evidence), "Full-speed runs with sources added");
  ASSERT_EQ(rows.size(), 2U);
  EXPECT_THAT(rows[0], ElementsAre("5", "Left", "1.30 x real time", "3.70", "10 s"));
  EXPECT_EQ(rows[1][2], "the disk is full");
}

TEST(RoomPart, HardwareEncodersAreToldAsTheyOpened) {
  Document document = Assess(TwoCameras());
  document.evidence.inventory.codecs.tried = true;
  document.evidence.inventory.codecs.trials.clear();
  EXPECT_THAT(NotesOf(document), Contains(HasSubstr("none opened on this PC")));
  bench::HardwareEncode encoder;
  encoder.encoder = "h264_made_up";
  encoder.wanted = 10;
  encoder.sessions = 3;
  encoder.width = 1920;
  encoder.height = 1080;
  encoder.one_per_second = 240;
  encoder.all_per_second = 410;
  encoder.refusal = "no more sessions";
  document.evidence.results.hardware_encodes = {encoder};
  EXPECT_THAT(NotesOf(document),
              Contains("h264_made_up: 3 of 10 sessions of 1920x1080 opened at once, 240 "
                       "frames/s in one, 410 in all; the next: no more sessions"));
}

}  // namespace
}  // namespace report
