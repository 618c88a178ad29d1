// SPDX-License-Identifier: Apache-2.0

#include "report/compare/compare.h"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "report/assess/assess.h"
#include "report/compare/figures.h"
#include "report/compare/load_in_time.h"
#include "report/show/html/sheet.h"
#include "report/show/rows/comparison.h"
#include "report/show/terminal/blocks.h"
#include "tests/support/evidence_builder.h"

namespace report {
namespace {

using ::testing::Contains;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::StartsWith;

/// Around `mean`, with a deviation that no window has of the one before it.
std::vector<double> Windows(double mean, int count, double spread = 0.02) {
  std::vector<double> windows;
  unsigned state = 12345;
  for (int i = 0; i < count; ++i) {
    state = state * 1664525U + 1013904223U;  // a linear congruential generator
    windows.push_back(mean * (1 + spread * (static_cast<double>(state >> 16U) / 32768 - 1)));
  }
  return windows;
}

Evidence WithSpeed(double speed) {
  Evidence evidence = testing::GoodEvidence();
  evidence.results.flat_out->window_speeds = Windows(speed, 40);
  evidence.results.flat_out->speed = speed * 0.98;
  for (auto& output : evidence.results.rehearsal->outputs) {
    output.seconds.assign(70, {30, 30, 0, 0});
  }
  return evidence;
}

NamedDocument Named(const std::string& name, Evidence evidence) {
  return {name, Assess(std::move(evidence))};
}

const ComparedFigure* FigureOf(const Comparison& comparison, const std::string& group,
                               const std::string& what) {
  for (const ComparedFigure& figure : comparison.figures) {
    if (figure.group == group && figure.what == what) {
      return &figure;
    }
  }
  return nullptr;
}

TEST(Compare, SaysThatTheSameIsTheSame) {
  const Comparison comparison = Compare(Named("a", WithSpeed(2)), Named("b", WithSpeed(2)));
  EXPECT_THAT(comparison.headline, HasSubstr("No real difference"));
  EXPECT_THAT(comparison.productions, IsEmpty());
  EXPECT_THAT(comparison.machines, IsEmpty());
  for (const ComparedFigure& figure : comparison.figures) {
    EXPECT_EQ(figure.standing, Standing::kSame) << figure.what;
  }
}

TEST(Compare, NamesASlowerPcWithItsInterval) {
  const Comparison comparison = Compare(Named("a", WithSpeed(2)), Named("b", WithSpeed(1.5)));
  const ComparedFigure* const speed = FigureOf(comparison, "rehearsal", "full-speed run");
  ASSERT_NE(speed, nullptr);
  EXPECT_EQ(speed->standing, Standing::kWorse);
  EXPECT_THAT(speed->test, StartsWith("Welch's t"));
  EXPECT_LT(*speed->low, -0.5);
  EXPECT_GT(*speed->high, -0.52);
  EXPECT_LT(*speed->p_value, 0.001);
  const ComparedFigure* const headroom = FigureOf(comparison, "headroom", "encoder");
  ASSERT_NE(headroom, nullptr);
  EXPECT_EQ(headroom->standing, Standing::kWorse);
  EXPECT_THAT(headroom->why, HasSubstr("as \"full-speed run\""));
}

TEST(Compare, TakesADifferenceThatRunsHaveAnywayForNone) {
  // 3 % apart and as sure as can be.
  const Comparison comparison = Compare(Named("a", WithSpeed(2)), Named("b", WithSpeed(2.06)));
  const ComparedFigure* const speed = FigureOf(comparison, "rehearsal", "full-speed run");
  ASSERT_NE(speed, nullptr);
  EXPECT_LT(*speed->p_value, 0.05);
  EXPECT_EQ(speed->standing, Standing::kSame);
}

TEST(Compare, CountsLossesThatFollowEachOtherOnce) {
  Evidence evidence = WithSpeed(2);
  auto& seconds = evidence.results.rehearsal->outputs[0].seconds;
  for (const int second : {5, 20, 21, 22, 40}) {
    seconds[static_cast<std::size_t>(second)] = {30, 29, 1, 0};
  }
  const std::vector<double> dropped = DroppedBySecond(evidence);
  EXPECT_EQ(CountOutages(dropped), 2);  // the one in the warm-up of 10 s is none
  EXPECT_EQ(dropped.size(), 60U);
}

TEST(Compare, OneLossIsNoDifferenceAndManyAre) {
  Evidence one = WithSpeed(2);
  testing::Drop(one, 3, 30, bench::Stage::kEncode);
  one.results.rehearsal->outputs[0].seconds[30] = {30, 27, 3, 0};
  Evidence many = WithSpeed(2);
  testing::Drop(many, 30, 30, bench::Stage::kEncode);
  for (std::size_t second = 12; second < 70; second += 4) {
    many.results.rehearsal->outputs[0].seconds[second] = {30, 28, 2, 0};
  }
  const Comparison little = Compare(Named("a", WithSpeed(2)), Named("b", one));
  EXPECT_EQ(FigureOf(little, "rehearsal", "outages")->standing, Standing::kSame);
  EXPECT_EQ(FigureOf(little, "rehearsal", "frames dropped")->standing, Standing::kSame);
  const Comparison much = Compare(Named("a", WithSpeed(2)), Named("b", many));
  const ComparedFigure* const losses = FigureOf(much, "rehearsal", "outages");
  EXPECT_EQ(losses->standing, Standing::kWorse);
  EXPECT_FALSE(losses->high) << "none before: the ratio has no end";
}

/// One outage each that lasts for the whole run: how often says nothing, how many does.
TEST(Compare, FramesAreJudgedBesideOutages) {
  const auto overloaded = [](int least) {
    Evidence evidence = WithSpeed(2);
    auto& output = evidence.results.rehearsal->outputs[0];
    output.seconds.assign(70, {120, 120, 0, 0});
    for (std::size_t second = 0; second < 70; ++second) {
      const std::int64_t lost = least + static_cast<std::int64_t>(second * 7 % 10);
      output.seconds[second] = {120, 120 - lost, lost, 0};
      testing::Drop(evidence, lost, static_cast<double>(second), bench::Stage::kEncode);
    }
    return evidence;
  };
  const Comparison comparison = Compare(Named("a", overloaded(45)), Named("b", overloaded(58)));
  const ComparedFigure* const outages = FigureOf(comparison, "rehearsal", "outages");
  const ComparedFigure* const frames = FigureOf(comparison, "rehearsal", "frames dropped");
  ASSERT_NE(frames, nullptr);
  EXPECT_EQ(outages->standing, Standing::kSame);
  EXPECT_EQ(*outages->before, 60);  // one in a minute
  EXPECT_EQ(frames->standing, Standing::kWorse);
  EXPECT_NEAR(*frames->before, 49.5 * 3600, 1e-6);
  EXPECT_NEAR(*frames->after, 62.5 * 3600, 1e-6);
  EXPECT_GT(*frames->low, 1.15);
  EXPECT_LT(*frames->high, 1.4);
  EXPECT_THAT(comparison.headline, HasSubstr("frames dropped"));
  for (const std::string& page :
       {WriteSheets({SheetOf(comparison)}, {false, 100}), ComparisonJson(comparison),
        SheetPage(SheetOf(comparison), "test")}) {
    EXPECT_THAT(page, HasSubstr("frames dropped"));
    EXPECT_THAT(page, HasSubstr("outages"));
  }
}

TEST(Compare, SaysFirstThatProductionsDiffer) {
  Evidence other = WithSpeed(2);
  other.profile.outputs[0].bitrate_kbps = 9000;
  const Comparison comparison = Compare(Named("a", WithSpeed(2)), Named("b", other));
  EXPECT_THAT(comparison.headline, StartsWith("The productions are not the same"));
  EXPECT_THAT(comparison.productions,
              Contains(Field(&ChangedFact::what, "Recording: bitrate kbps")));
}

TEST(Compare, TellsASettingAndAMovedDevice) {
  Evidence other = WithSpeed(2);
  other.inventory.cpu.governor = std::string("performance");
  for (auto& device : other.inventory.usb.devices) {
    if (device.path == "2-1") {
      device.path = "2-3";
      device.port = 3;
    }
  }
  other.inventory.usb.devices[4].product = "Invented camera A";
  Evidence first = WithSpeed(2);
  first.inventory.usb.devices[4].product = "Invented camera A";
  const Comparison comparison = Compare(Named("a", first), Named("b", other));
  ASSERT_EQ(comparison.machines.size(), 2U);
  EXPECT_EQ(comparison.machines[0].what, "port of Invented camera A");
  EXPECT_THAT(comparison.machines[0].after, StartsWith("2-3"));
  EXPECT_EQ(comparison.machines[1].what, "governor");
}

TEST(Compare, CannotTellOneFigureEach) {
  ComparedFigure figure = NewFigure("costs", "encode", "", "ms", Better::kLower);
  figure.before = 10;
  figure.after = 11;
  DecideOneFigure(figure);
  EXPECT_EQ(figure.standing, Standing::kSame);
  figure.after = 13;
  DecideOneFigure(figure);
  EXPECT_EQ(figure.standing, Standing::kUnsure);
  EXPECT_THAT(figure.why, HasSubstr("worse"));
  figure.after.reset();
  figure.change.reset();
  figure.standing = Standing::kNotTold;
  DecideOneFigure(figure);
  EXPECT_EQ(figure.standing, Standing::kNotTold);
}

TEST(Compare, OfSurveysHasNothingToTest) {
  Evidence survey = testing::GoodEvidence();
  survey.results = {};
  survey.length = kSurvey;
  const Comparison comparison = Compare(Named("a", survey), Named("b", survey));
  EXPECT_EQ(comparison.tests, 0);
  EXPECT_THAT(comparison.cautions, Contains(HasSubstr("is a survey")));
}

TEST(Rank, PutsTheBestFirstAndSaysWhatIsNoDifference) {
  Evidence dropping = WithSpeed(2);
  testing::Drop(dropping, 300, 30, bench::Stage::kEncode);
  std::vector<RankEntry> entries;
  entries.push_back(EntryOf(Named("short", dropping)));
  entries.push_back(EntryOf(Named("slow", WithSpeed(1.4))));
  entries.push_back(EntryOf(Named("fast", WithSpeed(2))));
  entries.push_back(EntryOf(Named("as fast", WithSpeed(2.01))));
  const Ranking ranking = Rank(std::move(entries), {{"x.json", "this is not JSON"}});
  ASSERT_EQ(ranking.results.size(), 4U);
  EXPECT_EQ(ranking.results[2].result.name, "slow");
  EXPECT_EQ(ranking.results[2].against_above, Standing::kWorse);
  EXPECT_EQ(ranking.results[1].against_above, Standing::kSame);
  EXPECT_EQ(ranking.results[3].result.name, "short");
  EXPECT_EQ(ranking.results[3].rank, 4);
  EXPECT_THAT(ranking.headline, HasSubstr("1 file not read"));
  EXPECT_NEAR(*ranking.results[2].speed, 1.4, 0.02);
  EXPECT_LT(*ranking.results[2].speed_low, *ranking.results[2].speed);
}

TEST(Rank, SaysThatProductionsAreNotTheSame) {
  Evidence other = WithSpeed(2);
  other.profile.outputs[0].bitrate_kbps = 9000;
  std::vector<RankEntry> entries;
  entries.push_back(EntryOf(Named("a", WithSpeed(2))));
  entries.push_back(EntryOf(Named("b", other)));
  const Ranking ranking = Rank(std::move(entries), {});
  EXPECT_THAT(ranking.headline, StartsWith("2 productions that are not the same"));
  EXPECT_EQ(ranking.results[1].against_above, Standing::kNotTold);
}

TEST(ComparisonJson, HasItsStableKeys) {
  const auto json = nlohmann::json::parse(
      ComparisonJson(Compare(Named("a", WithSpeed(2)), Named("b", WithSpeed(1.5)))));
  EXPECT_EQ(json["format"], "rigproof-comparison");
  for (const char* const key :
       {"version", "before", "after", "productions", "machines", "figures", "headline", "method"}) {
    EXPECT_TRUE(json.contains(key)) << key;
  }
  for (const auto& figure : json["figures"]) {
    EXPECT_TRUE(figure.contains("standing") && figure.contains("p_value"));
  }
  const auto ranks = nlohmann::json::parse(RankingJson(Rank({}, {})));
  EXPECT_EQ(ranks["format"], "rigproof-ranking");
}

}  // namespace
}  // namespace report
