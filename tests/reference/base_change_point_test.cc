// SPDX-License-Identifier: Apache-2.0
//
// Annual flow of the Nile at Aswan, 1871-1970, in 1e8 m3: R 4.2.2, package
// datasets, 'Nile' (Cobb 1978; Durbin and Koopman 2001).

#include <array>
#include <cmath>
#include <random>
#include <vector>

#include <gtest/gtest.h>

#include "base/stats/change_point.h"

namespace {

constexpr std::array<double, 100> kNile = {
    1120, 1160, 963, 1210, 1160, 1160, 813,  1230, 1370, 1140, 995,  935,  1110, 994,  1020,
    960,  1180, 799, 958,  1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774,  840,
    874,  694,  940, 833,  701,  916,  692,  1020, 1050, 969,  831,  726,  456,  824,  702,
    1120, 1100, 832, 764,  821,  768,  845,  864,  862,  698,  845,  744,  796,  1040, 759,
    781,  865,  845, 944,  984,  897,  822,  1010, 771,  676,  649,  846,  812,  742,  801,
    1040, 860,  874, 848,  890,  744,  749,  838,  1050, 918,  986,  797,  923,  975,  815,
    1020, 906,  901, 1170, 912,  746,  919,  718,  714,  740};

// R documentation of the series: "apparent changepoint near 1898" (Cobb 1978).
// The least-squares split has 28 years, 1871-1898, before it; the means of the
// two parts computed from the series with other tools: 1097.75 and 849.972222.
TEST(Nile, LevelFallsAfter1898) {
  const auto step = base::FindStep(kNile);
  ASSERT_TRUE(step);
  EXPECT_EQ(1871 + step->at - 1, 1898U);
  EXPECT_DOUBLE_EQ(step->before, 1097.75);
  EXPECT_NEAR(step->after, 849.972222, 1e-6);
  EXPECT_LE(step->p_value, 0.01);
}

TEST(Nile, HasThatOneStepOnly) {
  EXPECT_EQ(base::FindSteps(kNile).size(), 1U);
}

// A permutation test holds its level for any noise that does not depend on its
// past: in 600 seeded series without a step, the share of alarms may exceed
// the stated rate by no more than chance (three standard deviations).
template <typename Draw>
void ExpectStatedFalseAlarms(std::size_t count, const Draw& draw) {
  constexpr int kSeries = 600;
  const base::StepRule rule{0.02, 3, 199};
  int alarms = 0;
  for (int series = 0; series < kSeries; ++series) {
    std::vector<double> samples(count);
    for (double& sample : samples) {
      sample = draw();
    }
    alarms += base::FindStep(samples, rule) ? 1 : 0;
  }
  const double expected = rule.false_alarm_rate * kSeries;
  EXPECT_LE(alarms, expected + 3 * std::sqrt(expected * (1 - rule.false_alarm_rate)));
  EXPECT_GE(alarms, 1);  // a test that never alarms holds no stated rate
}

TEST(WhiteNoise, GivesStepsAtTheStatedRateOnly) {
  std::mt19937_64 random(1898);
  std::normal_distribution<double> normal(100, 10);
  ExpectStatedFalseAlarms(60, [&] { return normal(random); });
}

TEST(SkewedNoise, GivesStepsAtTheStatedRateOnly) {
  std::mt19937_64 random(1970);
  std::exponential_distribution<double> exponential(0.1);
  ExpectStatedFalseAlarms(40, [&] { return exponential(random); });
}

}  // namespace
