// SPDX-License-Identifier: Apache-2.0
//
// Anchors, thinning and escaping of the report page.

#include "report/show/html/pieces.h"

#include <optional>

#include <gtest/gtest.h>

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
