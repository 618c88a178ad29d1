// SPDX-License-Identifier: Apache-2.0
//
// Anchors, thinning and escaping of the report page.

#include "report/show/html/pieces.h"

#include <optional>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <kainjow/mustache.hpp>

#include "report/page_files.h"
#include "report/show/html/charts.h"

namespace report {
namespace {

TEST(AnchorOf, KeepsLettersDigitsAndHyphens) {
  EXPECT_EQ(AnchorOf("usb-shared-hub2"), "finding-usb-shared-hub2");
  EXPECT_EQ(AnchorOf("a\" onclick=x"), "finding-a--onclick-x");
}

TEST(EscapeForPage, MakesMarkupText) {
  EXPECT_EQ(EscapeForPage("<b a='1' c=\"2\">&"), "&lt;b a=&apos;1&apos; c=&quot;2&quot;&gt;&amp;");
}

TEST(PartView, LaysOutEveryBlockOnceAndEscaped) {
  show::Facts facts;
  facts.Add("clock", "3 <GHz>");
  show::Table table{"Links", {{"link"}, {"speed", true}}, {{{"first"}, {"10", Mark::kGood}}}};
  const show::Part part{"CPU",
                        {show::Subtitle{"Clocks"}, facts, table,
                         show::Lines{{{"one"}, {"two", Mark::kWarn, "#place"}},
                                     1,
                                     show::When::kAlways,
                                     {"For <it>", Mark::kStop}},
                         show::Note{{"More."}, show::When::kDetails}}};
  View view("part", ToView(part));
  view.set("subtitle_tag", View("h4"));
  const auto add = [&view](const char* name, std::string_view text) {
    view.set(name, View(kainjow::mustache::partial([text] { return std::string(text); })));
  };
  add("part_part", page_files::kPart);
  add("part_table", page_files::kTable);
  add("part_facts", page_files::kFacts);
  kainjow::mustache::mustache layout{"{{#part}}<h3>{{part_title}}</h3>{{>part_part}}{{/part}}"};
  layout.set_custom_escape(EscapeForPage);
  const std::string html = layout.render(view);
  EXPECT_THAT(html, testing::StartsWith("<h3>CPU</h3><h4>Clocks</h4>"));
  EXPECT_THAT(html, testing::HasSubstr("<dt>clock</dt><dd>3 &lt;GHz&gt;</dd>"));
  EXPECT_THAT(html, testing::HasSubstr("<a href=\"#place\">two</a>"));
  EXPECT_THAT(html, testing::HasSubstr("For &lt;it&gt;</span></p>\n<ul><li>one</li>"));
  EXPECT_THAT(html, testing::HasSubstr("<p>More.</p>"));
  for (const char* once : {"<table>", "<dl>", "<ul>", "<h4>", "<p>"}) {
    EXPECT_EQ(html.find(once), html.rfind(once)) << once;
  }
}

TEST(Thin, TakesMeansOfNeighboursAndOfTheRest) {
  const Trace thinned = Thin({1.0, 3.0, std::nullopt, 5.0, 7.0}, 2);
  EXPECT_EQ(thinned, (Trace{2.0, 5.0, 7.0}));
}

TEST(Thin, KeepsAGapWhereNothingWasRead) {
  EXPECT_EQ(Thin({std::nullopt, std::nullopt, 4.0}, 2), (Trace{std::nullopt, 4.0}));
}

TEST(MostPoints, SharesThePageAmongCharts) {
  EXPECT_EQ(MostPoints(1), 1200U);
  EXPECT_EQ(MostPoints(16), 600U);
  EXPECT_EQ(MostPoints(100000), 60U);
}

}  // namespace
}  // namespace report
