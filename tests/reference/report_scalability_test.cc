// SPDX-License-Identifier: Apache-2.0
//
// The Universal Scalability Law against a published worked example.

#include <algorithm>
#include <vector>

#include <gtest/gtest.h>

#include "report/cpu/scalability.h"

namespace report {
namespace {

/// The R package usl 3.0.4 (S. Moeding), README, "usl(throughput ~ load, specsdm91)",
/// prints: alpha 0.0277285 (standard error 0.0091217), beta 0.0001044 (0.0000199),
/// gamma 89.9952330 (14.2134894), residuals -81.7 ... 111.1.
/// The seven points of its data set specsdm91 are from memory; that they give
/// all printed digits of six figures shows that they are right.
const std::vector<bench::ContentionPoint> kPublished = {{1, 64.9},    {18, 995.9},   {36, 1652.4},
                                                        {72, 1853.2}, {108, 1828.9}, {144, 1775.0},
                                                        {216, 1702.2}};

TEST(FitScalability, GivesThePublishedCoefficientsAndErrors) {
  const auto law = FitScalability(kPublished);
  ASSERT_TRUE(law);
  EXPECT_NEAR(law->alpha, 0.0277285, 5e-8);
  EXPECT_NEAR(law->beta, 0.0001044, 5e-8);
  EXPECT_NEAR(law->gamma, 89.9952330, 5e-6);
  ASSERT_TRUE(law->alpha_error && law->beta_error && law->gamma_error);
  EXPECT_NEAR(*law->alpha_error, 0.0091217, 5e-8);
  EXPECT_NEAR(*law->beta_error, 0.0000199, 5e-8);
  EXPECT_NEAR(*law->gamma_error, 14.2134894, 5e-6);
  EXPECT_TRUE(law->beta_told);
  EXPECT_EQ(law->points, 7);
}

TEST(FitScalability, GivesThePublishedResiduals) {
  const auto law = FitScalability(kPublished);
  ASSERT_TRUE(law);
  double lowest = 0;
  double highest = 0;
  for (const auto& point : kPublished) {
    const double residual = point.per_second - law->gamma * ScaledBy(*law, point.workers);
    lowest = std::min(lowest, residual);
    highest = std::max(highest, residual);
  }
  EXPECT_NEAR(lowest, -81.7, 0.05);
  EXPECT_NEAR(highest, 111.1, 0.05);
}

/// The same package, tests/coef.R: six points whose coefficients are alpha 0.02,
/// beta 0.02, gamma 1.00 to three digits.
TEST(FitScalability, GivesTheCoefficientsOfThePackagesOwnTest) {
  const auto law = FitScalability(std::vector<bench::ContentionPoint>{
      {1, 1}, {2, 1.8868}, {4, 3.0769}, {6, 3.5294}, {8, 3.5398}, {10, 3.3557}});
  ASSERT_TRUE(law);
  EXPECT_NEAR(law->alpha, 0.02, 5e-4);
  EXPECT_NEAR(law->beta, 0.02, 5e-4);
  EXPECT_NEAR(law->gamma, 1.00, 5e-3);
}

/// With beta 0 the law is Amdahl's (G. Amdahl, 1967): a serial share of 5 %
/// lets 20 workers do 20 / (1 + 0.05 x 19) = 10.26 times as much.
TEST(ScaledBy, IsAmdahlsLawWithoutCoherency) {
  Scalability law;
  law.alpha = 0.05;
  EXPECT_NEAR(ScaledBy(law, 20), 10.256, 5e-4);
}

}  // namespace
}  // namespace report
