// SPDX-License-Identifier: Apache-2.0
//
// The rehearsal's parts: what they say and when they say nothing.

#include "report/show/rows/rehearsal.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/show/rows/disk.h"
#include "report/show/rows/extra_load.h"
#include "tests/support/sample_verdict.h"
#include "tests/support/shown_part.h"

namespace report {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

std::string Shown(const show::Part& part) {
  return tests::InFull(part);
}

TEST(RehearsalParts, SayNothingWhereNothingWasRun) {
  const Document document;
  EXPECT_EQ(Shown(LedgerPart(document)), "");
  EXPECT_EQ(Shown(LatenessPart(document)), "");
  EXPECT_EQ(Shown(DropsPart(document)), "");
  EXPECT_EQ(Shown(CostPart(document)), "");
  EXPECT_EQ(Shown(ExtraLoadPart(document)), "");
}

TEST(LedgerPart, SaysThatARehearsalCouldNotStart) {
  Document document = tests::ShortDocument();
  document.evidence.results.rehearsal->outputs.clear();
  document.evidence.results.rehearsal->stopped_because = "no folder to write to";
  EXPECT_THAT(Shown(LedgerPart(document)), HasSubstr("It could not start: no folder to write to"));
  EXPECT_EQ(Shown(DropsPart(document)), "");
}

TEST(LedgerPart, SaysWhichOutputEndedEarlyAndWhy) {
  Document document = tests::ShortDocument();
  document.evidence.results.rehearsal->outputs[1].failure = "the encoder gave up";
  EXPECT_THAT(Shown(LedgerPart(document)), HasSubstr("Stream ended: the encoder gave up"));
}

TEST(LedgerPart, TellsApartWhatTheWarmUpDropped) {
  Document document = tests::ShortDocument();
  bench::Rehearsal& rehearsal = *document.evidence.results.rehearsal;
  for (bench::OutputLedger& output : rehearsal.outputs) {
    output.warm_up_dropped = 0;
  }
  EXPECT_THAT(Shown(LedgerPart(document)), Not(HasSubstr("not judged")));
  rehearsal.outputs[0].warm_up_dropped = 7;
  rehearsal.warm_up_seconds = 2;
  rehearsal.drops.front().at_s = 1.5;
  EXPECT_THAT(
      Shown(LedgerPart(document)),
      HasSubstr("Dropped in the warm-up, the first 2.0 s: 7, counted above and not judged"));
  EXPECT_THAT(Shown(DropsPart(document)), HasSubstr("1.50 s, warm-up"));
}

TEST(DropsPart, SaysSoWhereNoFrameWasDropped) {
  EXPECT_THAT(Shown(DropsPart(tests::ReadyDocument())), HasSubstr("No frame was dropped."));
  EXPECT_THAT(Shown(DropsPart(tests::ShortDocument())),
              AllOf(Not(HasSubstr("No frame was dropped.")), HasSubstr("2 further runs of drops")));
}

TEST(DropsPart, HasATerminalShowTheFirstRunsOnly) {
  Document document = tests::ShortDocument();
  auto& drops = document.evidence.results.rehearsal->drops;
  drops.resize(9, drops.front());
  EXPECT_THAT(Shown(DropsPart(document)), HasSubstr("and 4 more in the report"));
}

TEST(DropsPart, SaysWhatTheRunProves) {
  Document document = tests::ReadyDocument();
  document.proof = DropProof{600, 0, 18, 20, true, {}};
  EXPECT_THAT(Shown(DropsPart(document)),
              HasSubstr("at most 18 drops an hour; the profile allows 20: proven."));
  document.proof = DropProof{600, 0, 18, 1, false, 10800.0};
  EXPECT_THAT(Shown(DropsPart(document)), HasSubstr("3 h without a drop would prove it."));
  document.proof = DropProof{600, 0, 18, 0, false, {}};
  EXPECT_THAT(Shown(DropsPart(document)),
              HasSubstr("No run, however long, proves that none is ever dropped."));
}

TEST(DropsPart, NamesTheSourceWhoseQueueWasFull) {
  Document document = tests::ReadyDocument();
  bench::FeedLedger feed;
  feed.name = "Lectern";
  feed.due = 1500;
  feed.dropped = 7;
  document.evidence.results.rehearsal->feeds = {feed};
  EXPECT_THAT(Shown(DropsPart(document)),
              HasSubstr("Source Lectern: 7 of 1,500 frames found their queue full"));
}

TEST(ExtraLoad, StandsByTheEndsOfItsInterval) {
  BallastFigure figure;
  EXPECT_EQ(StandingOf(figure).text, "");
  figure.margin_percent = 25;
  figure.low_percent = 25;
  EXPECT_EQ(StandingOf(figure).text, "ok");
  figure.low_percent = 10;
  figure.high_percent = 30;
  EXPECT_EQ(StandingOf(figure).text, "unproven");
  figure.high_percent = 25;
  EXPECT_EQ(StandingOf(figure).text, "below the margin");
}

TEST(DiskPart, SaysWhetherTheRateWasSteady) {
  bench::DiskRun run;
  run.folder = "/takes";
  run.sustained_bytes_per_second = 212e6;
  run.steady = true;
  run.excursion_percent = 4.1;
  run.slope_percent = 1.3;
  EXPECT_THAT(Shown(DiskPart(run)),
              AllOf(HasSubstr("Writing test of /takes"), HasSubstr("212 MB/s"),
                    HasSubstr("yes: within 4.1 % of the mean, slope 1.3 %"),
                    HasSubstr("none found"), Not(HasSubstr("Stopped because"))));
  run.steady = false;
  run.step_at_s = 13;
  run.step_ratio = 0.43;
  run.stopped_because = "the disk was full";
  EXPECT_THAT(Shown(DiskPart(run)), AllOf(HasSubstr("no: off by 4.1 % of the mean"),
                                          HasSubstr("after 13 s, to 43 % of the rate before"),
                                          HasSubstr("the disk was full")));
}

}  // namespace
}  // namespace report
