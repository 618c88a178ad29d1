// SPDX-License-Identifier: Apache-2.0
//
// Cables in words: the sign of a length is that of the finding that is made of it.

#include "report/show/rows/cables.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/loads/cable_lines.h"
#include "report/show/terminal/blocks.h"
#include "tests/support/sample_verdict.h"

namespace report {
namespace {

using show::Mark;
using testing::HasSubstr;
using testing::Not;

/// The first source comes along so much coax that is known by its data sheet alone.
profiles::Profile Coax(double metres) {
  profiles::Profile profile = tests::QuarryProfile();
  profiles::Cable cable;
  cable.metres = metres;
  cable.attenuation_db_per_100m = 20;
  cable.attenuation_at_mhz = 750;
  profile.sources[0].cable = cable;
  return profile;
}

show::Cell LengthOf(const profiles::Profile& profile) {
  const auto part = CablesPart(profile, {});
  return std::get<show::Table>(part.blocks[0]).rows[0][4];
}

void ExpectLength(double metres, const std::string& word, Mark mark) {
  const show::Cell cell = LengthOf(Coax(metres));
  EXPECT_EQ(cell.text, word) << metres;
  EXPECT_EQ(cell.mark, mark) << metres;
}

TEST(CablesPart, MarksALengthAsItsFindingDoes) {
  const auto reach = profiles::ReachOf(*Coax(1).sources[0].cable, Coax(1).sources[0], {});
  ASSERT_TRUE(reach.metres && reach.beyond_metres);
  ASSERT_LT(*reach.metres, *reach.beyond_metres);
  ExpectLength(*reach.metres, "within", Mark::kGood);
  ExpectLength((*reach.metres + *reach.beyond_metres) / 2, "not sure", Mark::kNote);
  ExpectLength(*reach.beyond_metres + 1, "beyond", Mark::kWarn);
}

TEST(CablesPart, LeavesWhereALimitComesFromToTheLongForm) {
  TerminalPage in_short({false, 100, false});
  PutPart(in_short, CablesPart(Coax(90), {}));
  EXPECT_THAT(in_short.text(), Not(HasSubstr("Limit by")));
  TerminalPage in_full({false, 100, true});
  PutPart(in_full, CablesPart(Coax(90), {}));
  const std::string basis = CableLines(Coax(90), {})[0].basis;
  EXPECT_THAT(in_full.text(), HasSubstr("Limit by"));
  EXPECT_THAT(in_full.text(), HasSubstr(basis.substr(0, 20)));
}

TEST(CablesPart, SaysNothingWithoutCables) {
  EXPECT_TRUE(CablesPart(tests::QuarryProfile(), {}).empty());
}

}  // namespace
}  // namespace report
