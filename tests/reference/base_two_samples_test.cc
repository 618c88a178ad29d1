// SPDX-License-Identifier: Apache-2.0
//
// Tests of two samples against published worked examples, and against NIST's certified values.

#include <array>
#include <cmath>

#include <gtest/gtest.h>

#include "base/stats/two_samples.h"
#include "tests/reference/nist_series.h"
#include "tests/support/places.h"

namespace {

// NIST/SEMATECH handbook data AUTO83B (miles per gallon of two groups of cars), unequal variances,
// as printed in Boost.Math's "Comparing the means of two samples with the Students-t test".
TEST(WelchAgainstPublished, CarsOfTheNistHandbook) {
  const auto test = base::WelchTest({20.14458, 6.414700, 249}, {30.48101, 6.107710, 79});
  ASSERT_TRUE(test);
  EXPECT_NEAR(test->t, 12.94627, 2e-5);
  EXPECT_NEAR(test->degrees_freedom, 136.87499, 5e-5);
}

// "Student's sleep data", extra hours of sleep with two drugs: R's help page of t.test prints t =
// -1.8608, df = 17.776, p-value = 0.07939, interval -3.3654832 to 0.2054832.
TEST(WelchAgainstPublished, SleepOfStudent) {
  const std::array first{0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0};
  const std::array second{1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4};
  auto one = base::SummariseWindows(first);
  auto other = base::SummariseWindows(second);
  one.count = other.count = 10;  // people, not windows that follow each other
  const auto test = base::WelchTest(other, one);
  ASSERT_TRUE(test);
  EXPECT_NEAR(test->t, -1.8608, 5e-5);
  EXPECT_NEAR(test->degrees_freedom, 17.776, 5e-4);
  EXPECT_NEAR(test->p_value, 0.07939, 5e-6);
  EXPECT_NEAR(test->low, -3.3654832, 5e-8);
  EXPECT_NEAR(test->high, 0.2054832, 5e-8);
}

struct RateCase {
  base::EventCount before;
  base::EventCount after;
  double p_value;
  double ratio;
  double low;
  double high;
};

// First: the example of R's help page of poisson.test, 11 cases in 800 against 21 in 3011. All:
// sums of binomial chances as exact fractions in Python, ends of the interval by halving those
// sums.
TEST(RatesAgainstPublished, PoissonTestOfR) {
  const std::array cases{
      RateCase{{21, 3011}, {11, 800}, 0.07966863303, 1.971488095, 0.8584264034, 4.277265944},
      RateCase{{40, 600}, {8, 600}, 3.305266709e-06, 0.2, 0.08086007195, 0.433121412},
      RateCase{{3, 100}, {3, 100}, 1, 1, 0.1339375878, 7.466164007},
      RateCase{{7, 50}, {1, 400}, 1.509987253e-06, 0.01785714286, 0.0003962173787, 0.1389969442},
      RateCase{{120, 360}, {130, 300}, 0.04194623419, 1.3, 1.006498352, 1.680242200}};
  for (const RateCase& one : cases) {
    const auto test = base::CompareRates(one.before, one.after);
    ASSERT_TRUE(test);
    EXPECT_NEAR(test->p_value / one.p_value, 1, 1e-8);
    EXPECT_NEAR(test->value / one.ratio, 1, 1e-8);
    EXPECT_NEAR(test->low / one.low, 1, 1e-8);
    EXPECT_NEAR(test->high / one.high, 1, 1e-8);
  }
  const auto none = base::CompareRates({0, 60}, {5, 60});
  ASSERT_TRUE(none);
  EXPECT_NEAR(none->p_value, 0.0625, 1e-12);  // 2 / 2^5
  EXPECT_NEAR(none->low, 0.9163558573, 1e-9);
}

// Holm, "A simple sequentially rejective multiple test procedure" (1979), as in R's help page of
// p.adjust: by hand for five chances, c(0.01, 0.02, 0.03, 0.04, 0.05) gives 0.05 0.08 0.09 0.09
// 0.09.
TEST(HolmAgainstPublished, FiveChances) {
  const auto adjusted = base::AdjustedByHolm(std::array{0.01, 0.02, 0.03, 0.04, 0.05});
  const std::array expected{0.05, 0.08, 0.09, 0.09, 0.09};
  for (std::size_t i = 0; i < expected.size(); ++i) {
    EXPECT_NEAR(adjusted[i], expected[i], 1e-12);
  }
}

struct CertifiedSeries {
  const char* set;
  double deviation;
  double lag_one;
};

// NIST Statistical Reference Datasets, univariate: standard deviation and lag-1 autocorrelation.
TEST(NistCertified, DeviationAndAutocorrelation) {
  auto sets = tests::NistSeries();
  if (sets.empty()) {
    GTEST_SKIP() << "the NIST series are not at " << support::Shared();
  }
  for (const auto& [set, deviation, lag_one] :
       {CertifiedSeries{"lew", 277.332168044316, -0.307304800605679},
        CertifiedSeries{"lottery", 291.699727470969, -0.120948622967393},
        CertifiedSeries{"mavro", 0.000429123454003053, 0.937989183438248},
        CertifiedSeries{"michelson", 0.0790105478190518, 0.535199668621283}}) {
    ASSERT_FALSE(sets[set].empty()) << set;
    EXPECT_NEAR(base::SummariseWindows(sets[set]).deviation / deviation, 1, 1e-9) << set;
    EXPECT_NEAR(base::LagOneCorrelation(sets[set]) / lag_one, 1, 1e-9) << set;
  }
}

}  // namespace
