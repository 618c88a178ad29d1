// SPDX-License-Identifier: Apache-2.0
//
// Headroom in words.

#include "report/show/rows/headroom.h"

#include <limits>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/headroom/headroom.h"

namespace report {
namespace {

using show::Mark;
using ::testing::HasSubstr;
using ::testing::Not;

Headroom Row(Resource resource, const std::string& item, double percent) {
  Headroom row = NewRow(resource, item, "CPUs");
  row.demand = 100 - percent;
  row.capacity = 100;
  row.headroom_percent = percent;
  row.margin_percent = 25;
  row.basis = Basis::kMeasured;
  return row;
}

void ExpectStanding(const Headroom& row, const std::string& word, Mark mark) {
  const show::Cell cell = StandingOf(row);
  EXPECT_EQ(cell.text, word);
  EXPECT_EQ(cell.mark, mark);
}

TEST(StandingOf, HasOneWordAndOneSignForEachState) {
  ExpectStanding(Row(Resource::kCpu, "", 25), "ok", Mark::kGood);
  ExpectStanding(Row(Resource::kCpu, "", 24.9), "below the margin", Mark::kWarn);
  ExpectStanding(Row(Resource::kCpu, "", 0), "below the margin", Mark::kWarn);
  ExpectStanding(Row(Resource::kCpu, "", -0.1), "overloaded", Mark::kStop);
}

TEST(StandingOf, WhatIsNotKnownIsUnproven) {
  Headroom row = Row(Resource::kCpu, "", 50);
  row.headroom_percent = std::numeric_limits<double>::quiet_NaN();
  ExpectStanding(row, "unproven", Mark::kUnknown);
  row.headroom_percent.reset();
  ExpectStanding(row, "unproven", Mark::kUnknown);
  row = Row(Resource::kCpu, "", 50);
  row.capacity.reset();
  ExpectStanding(row, "unproven", Mark::kUnknown);
  EXPECT_EQ(BasisText(row), "unproven");
  row.basis = Basis::kAssumed;
  EXPECT_EQ(BasisText(row), "unproven: assumed");
}

TEST(TightestText, NamesThreeResourcesOnceEach) {
  const std::vector<Headroom> rows{Row(Resource::kUsb, "hub 1-1", 10),
                                   Row(Resource::kUsb, "hub 2-1", 20),
                                   Row(Resource::kDisk, "/takes", 30), Row(Resource::kCpu, "", 40),
                                   Row(Resource::kNetwork, "uplink", 50)};
  EXPECT_EQ(TightestText(rows),
            "usb 10 % (margin 25 %), disk 30 % (margin 25 %), cpu 40 % (margin 25 %)");
}

TEST(TightestText, SaysSoWhereNothingWasMeasured) {
  EXPECT_EQ(TightestText({}), "not known: nothing was measured against its limit");
  EXPECT_EQ(TightestText({NewRow(Resource::kCpu, "", "CPUs")}),
            "not known: nothing was measured against its limit");
}

TEST(BasisLine, NamesEachResourceOnceUnderItsBasis) {
  Headroom assumed = NewRow(Resource::kUsb, "hub 1-1", "B/s");
  assumed.basis = Basis::kAssumed;
  Headroom read = Row(Resource::kNetwork, "uplink", 60);
  read.basis = Basis::kRead;
  Headroom unknown = NewRow(Resource::kDisplays, "", "displays");
  unknown.basis = Basis::kRead;
  EXPECT_EQ(BasisLine({Row(Resource::kDisk, "/a", 30), Row(Resource::kDisk, "/b", 40), read,
                       unknown, assumed}),
            "measured: disk; read from the PC: network; assumed: usb hub 1-1");
  EXPECT_EQ(BasisLine({}), "");
}

TEST(HeadroomTable, SaysHowManyRowsItLeavesOut) {
  Document document;
  document.headroom = {Row(Resource::kCpu, "", 10), Row(Resource::kDisk, "/takes", 30)};
  EXPECT_EQ(HeadroomTable(document, 2).caption, "Headroom, tightest first");
  const show::Table cut = HeadroomTable(document, 1);
  EXPECT_EQ(cut.rows.size(), 1U);
  EXPECT_EQ(cut.caption, "Headroom, tightest first (1 of 2 rows)");
}

TEST(HeadroomTable, TellsWhatXIsOnlyWhereItStands) {
  Document document;
  document.headroom = {Row(Resource::kCpu, "", 10), Row(Resource::kEncoder, "whole", 30)};
  EXPECT_THAT(HeadroomTable(document, 2).caption, Not(HasSubstr("real time")));
  document.headroom[1].unit = "x real time";
  const show::Table table = HeadroomTable(document, 2);
  EXPECT_THAT(table.caption, HasSubstr("x: times real time"));
  EXPECT_EQ(table.rows[1][1].text, "70 x");
  EXPECT_THAT(HeadroomTable(document, 1).caption, Not(HasSubstr("real time")));
}

}  // namespace
}  // namespace report
