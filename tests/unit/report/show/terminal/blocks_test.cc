// SPDX-License-Identifier: Apache-2.0
//
// A part of what people read, laid out on a terminal: short, and with details.

#include "report/show/terminal/blocks.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace report {
namespace {

using show::Mark;
using show::When;

show::Part SamplePart() {
  show::Facts facts;
  facts.Add("clock", "3 GHz");
  facts.AddUnknown("boost", "the kernel does not tell");
  facts.Add("stepping", "7", When::kDetails);
  show::Table table{
      "Links", {{"link"}, {"speed", true}, {"driver", false, false, 8, When::kDetails}}, {}};
  table.rows.push_back({{"first"}, {"10", Mark::kGood}, {"abc"}});
  return {"CPU",
          {facts, table, show::Lines{{{"one"}, {"two", Mark::kWarn}}},
           show::Note{{"More."}, When::kDetails}}};
}

std::string Put(const show::Part& part, bool details) {
  TerminalPage page({false, 80, details});
  PutPart(page, part);
  return page.text();
}

TEST(TerminalBlocks, TheShortFormLeavesDetailsOut) {
  EXPECT_EQ(Put(SamplePart(), false),
            "CPU\n"
            "  clock             3 GHz\n"
            "  boost             unknown: the kernel does not tell\n"
            "  link   speed\n"
            "  first     10\n"
            "  - one\n"
            "  - two\n");
}

TEST(TerminalBlocks, DetailsShowEverything) {
  EXPECT_EQ(Put(SamplePart(), true),
            "CPU\n"
            "  clock             3 GHz\n"
            "  boost             unknown: the kernel does not tell\n"
            "  stepping          7\n"
            "  link   speed  driver\n"
            "  first     10  abc\n"
            "  - one\n"
            "  - two\n"
            "  More.\n");
}

TEST(TerminalBlocks, APartWithNothingToShowHasNoTitle) {
  const show::Part part{"CPU",
                        {show::Table{"Links", {{"link"}}, {}}, show::Note{{"x"}, When::kDetails}}};
  EXPECT_EQ(Put(part, false), "");
}

TEST(TerminalBlocks, ATableThatDoesNotFitIsStacked) {
  show::Table table{"", {{"link"}, {"a", true}, {"b", true}}, {}};
  table.rows.push_back({{"a name"}, {std::string(30, '1')}, {std::string(30, '2')}});
  TerminalPage page({false, 40});
  PutTable(page, 2, table);
  EXPECT_THAT(page.text(), testing::StartsWith("  a name\n"));
}

TEST(TerminalBlocks, ListsHaveTheirNameAboveThem) {
  const show::Part part{"Causes",
                        {show::Lines{{{"one"}, {"two"}, {"three"}}, 2, When::kAlways, {"For it"}},
                         show::Lines{{}, 2, When::kAlways, {"Alone"}}}};
  EXPECT_EQ(Put(part, false),
            "Causes\n"
            "  For it\n"
            "  - one\n"
            "  - two\n"
            "  and 1 more in the report\n"
            "  Alone\n");
}

TEST(WriteSheets, SaysEachVerdictInCapitalsAndWhereTheRestIs) {
  const show::Sheet sheet{"Why?",
                          {"parts missing", Mark::kStop},
                          "2 of 9",
                          {{}, {"Next", {show::Lines{{{"one"}, {"two"}}, 1}}}}};
  EXPECT_EQ(WriteSheets({sheet, {"Why?", {}, "Nothing.", {}}}, {false, 80}),
            "PARTS MISSING  2 of 9\n"
            "\n"
            "Next\n"
            "  - one\n"
            "  and 1 more with --json\n"
            "\n"
            "Nothing.\n");
}

}  // namespace
}  // namespace report
