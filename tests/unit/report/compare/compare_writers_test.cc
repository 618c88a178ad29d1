// SPDX-License-Identifier: Apache-2.0
//
// Comparisons on a terminal and as a page: exact bytes, and strangers' text as text.

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/compare/compare.h"
#include "report/show/html/sheet.h"
#include "report/show/rows/comparison.h"
#include "report/show/terminal/blocks.h"
#include "tests/support/golden.h"
#include "tests/support/hostile_document.h"
#include "tests/support/page_structure.h"
#include "tests/support/sample_document.h"

namespace report {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

/// Two documents alike but for what is said to have changed.
Comparison Filled(TextMaker make) {
  Document before = SampleDocument(20);
  FillStrings(before, make);
  Document after = before;
  after.evidence.inventory.settings.kernel = make(9001);
  after.evidence.inventory.cpu.model = make(9002);
  after.evidence.profile.name = make(9003);
  return Compare({make(9004), before}, {make(9005), after});
}

Ranking FilledRanking(TextMaker make) {
  Document document = SampleDocument(20);
  FillStrings(document, make);
  std::vector<RankEntry> entries;
  entries.push_back(EntryOf({make(9001), document}));
  entries.push_back(EntryOf({make(9002), document}));
  return Rank(std::move(entries), {{make(9003), make(9004)}});
}

void ExpectTextOnly(const std::string& page) {
  EXPECT_THAT(page, Not(HasSubstr("<img")));
  EXPECT_THAT(page, Not(HasSubstr("<script")));
  EXPECT_THAT(page, Not(HasSubstr("\x1B")));
  EXPECT_THAT(page, Not(HasSubstr("\xE2\x80\xAE")));  // U+202E right-to-left override
  EXPECT_THAT(page, HasSubstr("default-src 'none'; style-src 'unsafe-inline'"));
}

TEST(ComparisonPage, TakesHostileTextAsText) {
  const std::string page = SheetPage(SheetOf(Filled(HostileText)), HostileText(1));
  EXPECT_EQ(PageStructure(page),
            PageStructure(SheetPage(SheetOf(Filled(HarmlessText)), HarmlessText(1))));
  ExpectTextOnly(page);
}

TEST(RankingPage, TakesHostileTextAsText) {
  const std::string page = SheetPage(SheetOf(FilledRanking(HostileText)), HostileText(1));
  EXPECT_EQ(PageStructure(page),
            PageStructure(SheetPage(SheetOf(FilledRanking(HarmlessText)), HarmlessText(1))));
  ExpectTextOnly(page);
}

TEST(WriteComparison, LetsNoEscapeCodeThrough) {
  EXPECT_THAT(WriteSheets({SheetOf(Filled(HostileText))}, {false, 80}), Not(HasSubstr("\x1B")));
  EXPECT_THAT(WriteSheets({SheetOf(FilledRanking(HostileText))}, {false, 80}),
              Not(HasSubstr("\x1B")));
}

/// A comparison of round figures.
Comparison Sample() {
  Comparison comparison;
  comparison.headline = "Ready before, tight after. 1 worse, 0 better.";
  comparison.before = {"before/result.json",
                       "Quarry talk",
                       "2026-01-10T18:00:00Z",
                       "quick",
                       "Invented CPU, 4 CPUs",
                       "Invented OS 1, kernel 6.1",
                       "1.0",
                       Verdict::kReady,
                       true,
                       ""};
  comparison.after = comparison.before;
  comparison.after.name = "after/result.json";
  comparison.after.verdict = Verdict::kTight;
  comparison.productions = {};
  comparison.machines = {{"settings", "kernel", "6.1", "6.2"}};
  ComparedFigure speed;
  speed.group = "rehearsal";
  speed.what = "full-speed run";
  speed.unit = "x real time";
  speed.before = 2;
  speed.after = 1.5;
  speed.change = -0.5;
  speed.low = -0.52;
  speed.high = -0.48;
  speed.p_value = 0.00001;
  speed.test = "Welch's t: 38 and 38 windows, worth 30 and 31 independent ones";
  speed.standing = Standing::kWorse;
  speed.why = "more than chance and than runs of one PC differ by";
  comparison.figures.push_back(speed);
  ComparedFigure cost;
  cost.group = "costs";
  cost.what = "CPU of a frame, encode";
  cost.item = "Recording";
  cost.unit = "ms";
  cost.before = 7;
  cost.after = 7.1;
  cost.change = 0.1;
  cost.standing = Standing::kSame;
  comparison.figures.push_back(cost);
  comparison.tests = 1;
  comparison.cautions = {"One run each."};
  comparison.method = {"By windows."};
  return comparison;
}

TEST(WriteComparison, ShowsFiguresWithIntervalsAndWhatChanged) {
  tests::ExpectGolden("comparison_80.txt", WriteSheets({SheetOf(Sample())}, {false, 80}));
}

TEST(WriteComparison, StacksOnANarrowTerminal) {
  tests::ExpectGolden("comparison_40.txt", WriteSheets({SheetOf(Sample())}, {false, 40}));
}

/// Two results of one production and a file that is none.
Ranking SampleRanking() {
  const Comparison sample = Sample();
  Ranking ranking;
  ranking.headline = "before/result.json is best.";
  RankedResult best;
  best.rank = 1;
  best.result = sample.before;
  best.tightest = "cpu";
  best.tightest_spare = 40;
  best.tightest_keep = 25;
  best.lost = 0;
  best.lost_upper = 12;
  best.speed = 2;
  best.speed_low = 1.9;
  best.speed_high = 2.1;
  best.more_sources = 3;
  best.production = 1;
  RankedResult next;
  next.rank = 2;
  next.result = sample.after;
  next.result.complete = false;
  next.production = 1;
  next.against_above = Standing::kWorse;
  ranking.results = {best, next};
  ranking.not_read = {{"notes.json", "no result"}};
  ranking.productions = {"Quarry talk"};
  ranking.method = {"By verdict first."};
  return ranking;
}

TEST(WriteRanking, ShowsTheBestFirstAndWhatGaveNoResult) {
  tests::ExpectGolden("ranking_80.txt", WriteSheets({SheetOf(SampleRanking())}, {false, 80}));
}

TEST(RankingPage, HasTheSameRowsAsTheTerminal) {
  const std::string page = SheetPage(SheetOf(SampleRanking()), "1.0");
  for (const char* part : {"1. before/result.json", "<td>cpu 40 %</td>", "margin of cpu 25 %",
                           "slower than the one above", "notes.json: no result",
                           "<span class=\"sign\" aria-hidden=\"true\">▲</span> tight</span>",
                           "incomplete; Invented CPU"}) {
    EXPECT_THAT(page, HasSubstr(part));
  }
  EXPECT_THAT(page, Not(HasSubstr("<script")));
}

TEST(ComparisonPage, ShowsFiguresThatAreTheSameToo) {
  const std::string page = SheetPage(SheetOf(Sample()), "1.0");
  EXPECT_THAT(page, HasSubstr("No real difference in 1 figure."));
  EXPECT_THAT(page, HasSubstr("CPU of a frame, encode"));
}

}  // namespace
}  // namespace report
