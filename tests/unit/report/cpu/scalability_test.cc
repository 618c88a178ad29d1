// SPDX-License-Identifier: Apache-2.0
//
// The scalability law at its edges: few points, noise, nonsense.

#include "report/cpu/scalability.h"

#include <limits>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace report {
namespace {

using Points = std::vector<bench::ContentionPoint>;
using testing::HasSubstr;

TEST(FitScalability, TwoPointsTellAlphaAlone) {
  // Two workers make 180 where one makes 100: 2 / (1 + alpha) = 1.8, alpha = 1 / 9.
  const auto law = FitScalability(Points{{1, 100}, {2, 180}});
  ASSERT_TRUE(law);
  EXPECT_NEAR(law->alpha, 1.0 / 9, 1e-12);
  EXPECT_EQ(law->beta, 0);
  EXPECT_NEAR(law->gamma, 100, 1e-9);
  EXPECT_FALSE(law->alpha_error);
  EXPECT_FALSE(law->beta_told);
  EXPECT_THAT(ToText(*law), HasSubstr("beta cannot be told"));
}

TEST(FitScalability, ThreePointsAreMetExactly) {
  // alpha 0.03, beta 0.002: at 4 workers 400 / (1 + 0.09 + 0.024).
  const auto law =
      FitScalability(Points{{1, 100}, {2, 200 / 1.034}, {4, 400 / (1 + 0.09 + 0.024)}});
  ASSERT_TRUE(law);
  EXPECT_NEAR(law->alpha, 0.03, 1e-9);
  EXPECT_NEAR(law->beta, 0.002, 1e-9);
  EXPECT_TRUE(law->beta_told);
  EXPECT_FALSE(law->alpha_error) << "as many coefficients as points";
}

TEST(FitScalability, FasterThanLinearIsHeldAtNoContention) {
  const auto law = FitScalability(Points{{1, 100}, {2, 204}});
  ASSERT_TRUE(law);
  EXPECT_EQ(law->alpha, 0);
  EXPECT_EQ(law->beta, 0);
}

TEST(FitScalability, CoefficientsAreNeverNegative) {
  const auto law = FitScalability(Points{{1, 100}, {2, 150}, {4, 290}, {8, 560}, {16, 1000}});
  ASSERT_TRUE(law);
  EXPECT_GE(law->alpha, 0);
  EXPECT_GE(law->beta, 0);
  EXPECT_GT(law->gamma, 0);
}

TEST(FitScalability, TellsNothingFromTooLittleOrFromNonsense) {
  EXPECT_FALSE(FitScalability(Points{}));
  EXPECT_FALSE(FitScalability(Points{{1, 100}}));
  EXPECT_FALSE(FitScalability(Points{{1, 100}, {1, 110}}));
  EXPECT_FALSE(FitScalability(Points{{1, 100}, {2, 0}}));
  EXPECT_FALSE(FitScalability(Points{{0, 100}, {2, 150}}));
  EXPECT_FALSE(FitScalability(Points{{1, 100}, {2, std::numeric_limits<double>::quiet_NaN()}}));
}

TEST(ScaledBy, BelowOneWorkerNobodyWaits) {
  Scalability law;
  law.alpha = 0.5;
  EXPECT_EQ(ScaledBy(law, 0.4), 0.4);
  EXPECT_EQ(ScaledBy(law, 1), 1);
  EXPECT_EQ(ScaledBy(law, -3), 0);
}

TEST(Scalability, TheEndsLieOnBothSidesOfTheLaw) {
  const auto told =
      FitScalability(Points{{1, 100}, {2, 190}, {4, 350}, {8, 600}, {12, 800}, {16, 900}});
  const auto untold = FitScalability(Points{{1, 100}, {2, 190}});
  ASSERT_TRUE(told && untold);
  for (const Scalability& law : {*told, *untold}) {
    EXPECT_LT(ScaledBy(Pessimistic(law), 8), ScaledBy(law, 8));
    EXPECT_GT(ScaledBy(Optimistic(law), 8), ScaledBy(law, 8));
  }
  EXPECT_EQ(ScaledBy(Optimistic(*untold), 8), 8);
}

}  // namespace
}  // namespace report
