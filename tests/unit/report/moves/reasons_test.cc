// SPDX-License-Identifier: Apache-2.0
//
// What a move plan says of itself.

#include "report/moves/reasons.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/moves/text.h"
#include "report/words/cautions.h"
#include "report/words/quantities.h"
#include "tests/support/evidence_builder.h"

namespace report::testing {
namespace {

using ::testing::AllOf;
using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;

constexpr char kCutShort[] = "There are too many devices and ports to look at every way";

TEST(WhyTheseMoves, ClaimsAllWaysOnlyWhereAllWereLookedAt) {
  const auto all = WhyTheseMoves({}, {{}, true}, {});
  EXPECT_THAT(all, AllOf(Contains(StartsWith("Of all ways")), Not(Contains(HasSubstr(kCutShort)))));
  const auto some = WhyTheseMoves({}, {{}, false}, {});
  EXPECT_THAT(some, AllOf(Contains(StartsWith("Of the ways that were looked at")),
                          Not(Contains(HasSubstr("fewer moves"))), Contains(HasSubstr(kCutShort))));
}

TEST(WhyNoMoves, ClaimsThatThereIsNoWayOnlyWhereAllWereLookedAt) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.usb.devices[0].port_list.resize(1);
  const Facts facts = GatherFacts(evidence);
  MachineProblem posed;
  posed.candidates.resize(1);
  posed.candidates[0].movable = true;
  EXPECT_THAT(WhyNoMoves(facts, posed, {{}, true}, {}), Contains(StartsWith("No way to put")));
  EXPECT_THAT(WhyNoMoves(facts, posed, {{}, false}, {}),
              AllOf(Contains(StartsWith("None of the ways that were looked at")),
                    Not(Contains(StartsWith("No way to put")))));
}

TEST(WhyTheseMoves, SaysThatTheLastCameraMayBeRefusedBetweenTheBounds) {
  const probes::UsbDevice hub = Hub("2-1", "usb2", 2, 5000);
  UsbLink link;
  link.device = &hub;
  link.reservable_us = 112.5;
  link.reserved = {100, 120};
  EXPECT_DOUBLE_EQ(*UsedPercent(link), 100);
  EXPECT_THAT(WhyTheseMoves({}, {}, {&link, *UsedPercent(link), "hub", false}),
              AllOf(Contains(HasSubstr("may be refused")),
                    Not(Contains(HasSubstr("Moving plugs alone will not help")))));
  link.reserved = {90, 112.5};
  EXPECT_FALSE(UsedPercent(link));  // all is granted, and no bytes are known
  EXPECT_THAT(WhyTheseMoves({}, {}, {&link, 0, "hub", false}),
              Not(Contains(HasSubstr("may be refused"))));
  link.reserved = {225, 300};
  EXPECT_DOUBLE_EQ(*UsedPercent(link), 200);
  EXPECT_THAT(WhyTheseMoves({}, {}, {&link, *UsedPercent(link), "hub", false}),
              AllOf(Contains(AllOf(HasSubstr("Moving plugs alone will not help"),
                                   HasSubstr(std::string(kCautionInside)))),
                    Not(Contains(HasSubstr("may be refused")))));
}

TEST(NoMovesText, SaysToLeaveAllOnlyWherePlacesWereCompared) {
  MovePlan plan;
  EXPECT_EQ(NoMovesText(plan), "No move is offered.");
  plan.devices = 2;
  EXPECT_EQ(NoMovesText(plan), "No move is offered.");
  plan.worst_before = "USB hub 2-1";
  EXPECT_EQ(NoMovesText(plan), "Leave every plug where it is.");
}

TEST(Ordinal, EndsAsItIsSpoken) {
  const std::pair<std::size_t, const char*> cases[] = {
      {1, "first"}, {10, "tenth"}, {11, "11th"}, {12, "12th"},   {13, "13th"},   {20, "20th"},
      {21, "21st"}, {22, "22nd"},  {23, "23rd"}, {111, "111th"}, {121, "121st"}, {0, "0th"}};
  for (const auto& [number, word] : cases) {
    EXPECT_EQ(Ordinal(number), word);
  }
}

}  // namespace
}  // namespace report::testing
