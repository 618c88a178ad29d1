// SPDX-License-Identifier: Apache-2.0
//
// What a production needs, in words.

#include "report/show/rows/demand.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/show/terminal/blocks.h"
#include "tests/support/golden.h"
#include "tests/support/sample_verdict.h"

namespace report {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::string Shown(const profiles::Demand& demand, const TerminalStyle& style) {
  return WriteSheets({DemandAnswer(tests::QuarryProfile(), demand)}, style);
}

TEST(DemandAnswer, ShowsSourcesOutputsAndSums) {
  tests::ExpectGolden("demand_80.txt", Shown(tests::QuarryDemand(), {false, 80}));
}

TEST(DemandAnswer, StacksOnANarrowTerminal) {
  tests::ExpectGolden("demand_40.txt", Shown(tests::QuarryDemand(), {false, 40}));
}

TEST(DemandAnswer, HasEveryFigureInTheLongForm) {
  tests::ExpectGolden("demand_details_120.txt", Shown(tests::QuarryDemand(), {false, 120, true}));
}

TEST(DemandAnswer, ShowsAProfileWithoutSourcesOrOutputs) {
  profiles::Profile profile;
  profile.name = "Empty";
  EXPECT_THAT(WriteSheets({DemandAnswer(profile, {})}, {false, 80}),
              AllOf(HasSubstr("What Empty needs of a PC"), Not(HasSubstr("Sources")),
                    Not(HasSubstr("Outputs")), Not(HasSubstr("Cables"))));
}

TEST(DemandSheet, SaysWhereNoLevelHoldsAnOutputAndNothingOfCodecsWithoutLevels) {
  profiles::Demand demand = tests::QuarryDemand();
  demand.outputs[0].level = "";
  demand.outputs[0].level_limit = "picture rate";
  demand.outputs[0].level_commonly_played = false;
  demand.outputs[1].level = "";
  demand.outputs[1].level_limit = "";
  demand.outputs[1].level_commonly_played = true;
  const auto outputs = DemandSheet(tests::QuarryProfile(), demand).parts[1];
  const auto& table = std::get<show::Table>(outputs.blocks[0]);
  EXPECT_EQ(table.rows[0][3].text, "h264, no level");
  EXPECT_EQ(table.rows[0][3].mark, show::Mark::kWarn);
  EXPECT_EQ(table.rows[1][3].text, "h264");
  EXPECT_EQ(table.rows[1][3].mark, show::Mark::kNone);
  const auto& notes = std::get<show::Lines>(outputs.blocks[1]);
  ASSERT_EQ(notes.lines.size(), 1U);
  EXPECT_EQ(notes.lines[0].text,
            "Program recording: no level of its codec allows its picture rate");
}

TEST(DemandSheet, NamesWhatSharesAnEncode) {
  profiles::Demand demand = tests::QuarryDemand();
  demand.outputs[1].shares_encode_with = {"Program recording"};
  EXPECT_THAT(Shown(demand, {false, 80}),
              HasSubstr("Stream: its encode is shared by Program recording"));
}

// Of a network source only its packets are known: no frame of 0 bytes, no SDI.
TEST(DemandSheet, ANetworkSourceHasNoFrameAndNoLinkOfSdi) {
  profiles::Profile profile = tests::QuarryProfile();
  profile.sources[0].arrives_by = profiles::ArrivesBy::kNetwork;
  profile.sources[0].codec = "hevc";
  profiles::Demand demand = tests::QuarryDemand();
  demand.sources[0] = {"Lectern", 0, 1e6, false, std::nullopt, "", 8.4e6};
  const auto sources = DemandSheet(profile, demand).parts[0];
  const auto& row = std::get<show::Table>(sources.blocks[0]).rows[0];
  EXPECT_EQ(row[1].text, "network, hevc");
  EXPECT_EQ(row[3].text, "8.40 Mb/s");
  EXPECT_EQ(row[4].text, "-");
  EXPECT_EQ(row[5].text, "-");
}

}  // namespace
}  // namespace report
