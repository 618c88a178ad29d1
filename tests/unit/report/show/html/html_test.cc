// SPDX-License-Identifier: Apache-2.0
//
// The report page: what it says, how it takes strangers' text, how large it grows.

#include <algorithm>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "report/data/writers.h"
#include "report/words/cautions.h"
#include "tests/support/hostile_document.h"
#include "tests/support/page_structure.h"
#include "tests/support/sample_document.h"

namespace report {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

Document FilledDocument(TextMaker make) {
  Document document = SampleDocument(10);
  FillStrings(document, make);
  return document;
}

nlohmann::json ChartData(const std::string& page) {
  return nlohmann::json::parse(TextAfter(page, "id=\"chart-data\""));
}

TEST(WriteHtml, TakesHostileTextAsText) {
  const std::string hostile = WriteHtml(FilledDocument(HostileText));
  EXPECT_EQ(PageStructure(hostile), PageStructure(WriteHtml(FilledDocument(HarmlessText))));
  EXPECT_THAT(hostile, HasSubstr("&lt;img src=x onerror=alert(1)&gt;"));
  EXPECT_THAT(hostile, Not(HasSubstr("<img")));
  EXPECT_THAT(hostile, Not(HasSubstr("href=\"javascript:")));
}

TEST(WriteHtml, TakesHostileReasonsAsText) {
  Document hostile = SampleDocument(10);
  FillReasons(hostile, HostileText);
  Document harmless = SampleDocument(10);
  FillReasons(harmless, HarmlessText);
  const std::string page = WriteHtml(hostile);
  EXPECT_EQ(PageStructure(page), PageStructure(WriteHtml(harmless)));
  EXPECT_THAT(page, HasSubstr("unknown: &lt;/script&gt;&lt;img"));
}

TEST(WriteHtml, ShowsControlsOverridesAndBrokenBytesAsSigns) {
  const std::string page = WriteHtml(FilledDocument(HostileText));
  EXPECT_THAT(page, Not(HasSubstr("\xE2\x80\xAE")));  // U+202E right-to-left override
  EXPECT_THAT(page, Not(HasSubstr("\x1B")));
  EXPECT_THAT(page, Not(HasSubstr("\xFF")));
  EXPECT_THAT(page, HasSubstr("\\xFF"));
}

TEST(WriteHtml, LeavesTemplateMarksOfStrangersAlone) {
  Document document = SampleDocument(3);
  document.first_limit = "{{{library_js}}} {{>part_table}} {{#rows}}";
  EXPECT_THAT(WriteHtml(document),
              HasSubstr("<p class=\"headline\">{{{library_js}}} {{&gt;part_table}} {{#rows}}</p>"));
}

TEST(WriteHtml, GivesChartNumbersThatNoParserTakesForMarkup) {
  const std::string page = WriteHtml(FilledDocument(HostileText));
  const std::string data = TextAfter(page, "id=\"chart-data\"");
  EXPECT_EQ(data.find_first_of("<>&"), std::string::npos);
  EXPECT_TRUE(std::all_of(data.begin(), data.end(),
                          [](char letter) { return letter >= 0x20 && letter < 0x7F; }));
  EXPECT_EQ(ChartData(page).size(), 12U);  // eight outputs, CPU, disk writing, flat out, one folder
}

TEST(WriteHtml, DrawsEverySecondOfAShortRun) {
  const Document document = SampleDocument(60);
  const nlohmann::json first = ChartData(WriteHtml(document)).at(0);
  ASSERT_EQ(first.at("series").at(2).at("label"), "dropped");
  const nlohmann::json runs = first.at("series").at(2).at("runs");
  std::int64_t seconds = 0;
  std::int64_t dropped = 0;
  for (std::size_t at = 0; at < runs.size(); at += 2) {
    seconds += runs.at(at + 1).get<std::int64_t>();
    dropped += runs.at(at).get<std::int64_t>() * runs.at(at + 1).get<std::int64_t>();
  }
  EXPECT_EQ(seconds, 60);
  EXPECT_EQ(dropped, document.evidence.results.rehearsal->outputs.front().dropped);
}

TEST(WriteHtml, StaysSmallForAnHourOfEightOutputs) {
  EXPECT_LT(WriteHtml(SampleDocument(3600)).size(), 800'000U);
}

TEST(WriteHtml, ForbidsEverythingButItsOwnScripts) {
  const std::string page = WriteHtml(SampleDocument(3));
  EXPECT_THAT(page, HasSubstr("default-src 'none'; script-src 'sha256-"));
  for (const std::string& tag : PageStructure(page)) {
    for (const char* request : {"link ", "iframe", "img", "object", "embed"}) {
      EXPECT_NE(tag.rfind(request, 0), 0U) << tag;
    }
    EXPECT_EQ(tag.find(" src"), std::string::npos) << tag;
  }
  EXPECT_THAT(page, Not(HasSubstr("@import")));
}

TEST(WriteHtml, OpensWithVerdictAndFirstRepair) {
  const std::string page = WriteHtml(SampleDocument(3));
  EXPECT_THAT(page, HasSubstr("</span>Short</span>"));
  EXPECT_LT(page.find("Encoding: 8.6 CPUs asked"), page.find("id=\"headroom\""));
  EXPECT_LT(page.find("Lower the effort of the isos"), page.find("id=\"headroom\""));
  EXPECT_THAT(page, Not(HasSubstr("<strong>Incomplete.</strong>")));
}

TEST(WriteHtml, SaysWhenTheRunIsIncomplete) {
  Document document = SampleDocument(3);
  document.complete = false;
  document.evidence.results.rehearsal->complete = false;
  document.evidence.results.rehearsal->stopped_because = "interrupted after 3 s";
  EXPECT_THAT(WriteHtml(document),
              HasSubstr("The rehearsal stopped early: interrupted after 3 s."));
}

TEST(WriteHtml, ShowsWhatIsUnprovenAndHowToProveIt) {
  const std::string page = WriteHtml(SampleDocument(3));
  EXPECT_THAT(page, HasSubstr(">not known what is available</div>"));
  EXPECT_THAT(page, HasSubstr("rehearse with a profile that asks for one"));
}

// A survey runs nothing: what only a run tells is not known on the page and on the sheet to sign.
TEST(WriteHtml, WhatNoRunToldIsNotNoughtNeeded) {
  Document document = SampleDocument(3);
  Headroom& row = document.headroom.front();
  row.unit = "CPUs of a survey";
  row.demand = 0;
  row.capacity.reset();
  row.headroom_percent.reset();
  EXPECT_THAT(WriteHtml(document), Not(HasSubstr("0 CPUs of a survey")));
  row.demand = 2;
  EXPECT_THAT(WriteHtml(document), HasSubstr("2 CPUs of a survey"));
}

TEST(WriteHtml, DrawsTheWiringAsItIsAndAfterTheMoves) {
  const std::string page = WriteHtml(SampleDocument(3));
  const std::size_t now = page.find("<svg class=\"tree\"");
  ASSERT_NE(now, std::string::npos);
  const std::size_t then = page.find("<svg class=\"tree\"", now + 1);
  ASSERT_NE(then, std::string::npos);
  EXPECT_LT(page.find("capture · 2-1.2 · goes to 2-3"), then);
  EXPECT_GT(page.find("capture · 2-3 · came from 2-1.2"), then);
  EXPECT_NE(page.find("aria-label=\"Wiring after the moves of "), std::string::npos);
  EXPECT_THAT(page, HasSubstr(std::string(kCautionMoves)));
}

TEST(WriteHtml, DrawsOneWiringWithoutMoves) {
  Document document = SampleDocument(3);
  document.move_plan->moves.clear();
  document.move_plan->wiring.clear();
  const std::string page = WriteHtml(document);
  const std::size_t now = page.find("<svg class=\"tree\"");
  ASSERT_NE(now, std::string::npos);
  EXPECT_EQ(page.find("<svg class=\"tree\"", now + 1), std::string::npos);
  EXPECT_THAT(page, Not(HasSubstr(std::string(kCautionMoves))));
}

TEST(WriteHtml, GivesUnknownReadingsWithTheirReason) {
  const std::string page = WriteHtml(SampleDocument(3));
  EXPECT_THAT(page, HasSubstr("unknown: the driver has no such setting"));
  EXPECT_THAT(page, testing::AllOf(HasSubstr("refused: "),
                                   HasSubstr("Failed to initialise VAAPI connection")));
}

TEST(WriteHtml, HasEachAnchorOnceAndLinksToIt) {
  Document document = SampleDocument(3);
  document.findings.push_back(document.findings.at(2));  // the same hub finding for another hub
  const std::string page = WriteHtml(document);
  const std::string anchor = "id=\"finding-usb-shared-hub\"";
  ASSERT_NE(page.find(anchor), std::string::npos);
  EXPECT_EQ(page.find(anchor), page.rfind(anchor));
  EXPECT_THAT(page, HasSubstr("href=\"#finding-usb-shared-hub\""));
}

TEST(WriteHtml, WritesADocumentWithNothingInIt) {
  const std::string page = WriteHtml(Document{});
  EXPECT_THAT(page, HasSubstr("Unproven</span>"));
  EXPECT_THAT(page, HasSubstr("No rehearsal was run"));
  EXPECT_EQ(ChartData(page).size(), 0U);
}

}  // namespace
}  // namespace report
