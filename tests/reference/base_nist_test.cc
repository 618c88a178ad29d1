// SPDX-License-Identifier: Apache-2.0
//
// Certified values: NIST Statistical Reference Datasets, univariate summary
// statistics (https://www.itl.nist.gov/div898/strd/univ/homepage.html).

#include <array>
#include <vector>

#include <gtest/gtest.h>

#include "base/stats/percentile.h"
#include "tests/reference/nist_series.h"
#include "tests/support/places.h"

namespace {

// NIST StRD "Michelso": speed of light in air, 1879, in thousands of km/s.
constexpr std::array<double, 100> kMichelson = {
    299.85, 299.74, 299.90, 300.07, 299.93, 299.85, 299.95, 299.98, 299.98, 299.88, 300.00, 299.98,
    299.93, 299.65, 299.76, 299.81, 300.00, 300.00, 299.96, 299.96, 299.96, 299.94, 299.96, 299.94,
    299.88, 299.80, 299.85, 299.88, 299.90, 299.84, 299.83, 299.79, 299.81, 299.88, 299.88, 299.83,
    299.80, 299.79, 299.76, 299.80, 299.88, 299.88, 299.88, 299.86, 299.72, 299.72, 299.62, 299.86,
    299.97, 299.95, 299.88, 299.91, 299.85, 299.87, 299.84, 299.84, 299.85, 299.84, 299.84, 299.84,
    299.89, 299.81, 299.81, 299.82, 299.80, 299.77, 299.76, 299.74, 299.75, 299.76, 299.91, 299.92,
    299.89, 299.86, 299.88, 299.72, 299.84, 299.85, 299.85, 299.78, 299.89, 299.84, 299.78, 299.81,
    299.76, 299.81, 299.79, 299.81, 299.82, 299.85, 299.87, 299.87, 299.81, 299.74, 299.81, 299.94,
    299.95, 299.80, 299.81, 299.87};

// NIST StRD certifies 15 digits; these sets are of lower difficulty.
TEST(NistCertified, MichelsonMean) {
  EXPECT_NEAR(base::Mean(kMichelson), 299.852400000000, 1e-11);
}

// NIST StRD "NumAcc1".
TEST(NistCertified, NumAcc1) {
  const std::array<double, 3> values = {10000001, 10000003, 10000002};
  EXPECT_EQ(base::Mean(values), 10000002);
}

// NIST StRD "NumAcc2", "NumAcc3", "NumAcc4": `first`, then 500 pairs one tenth
// below and above it. The larger the mean, the fewer digits survive in doubles
// (average, average, higher difficulty).
std::vector<double> NumAcc(double first, double low, double high) {
  std::vector<double> values = {first};
  for (int pair = 0; pair < 500; ++pair) {
    values.push_back(low);
    values.push_back(high);
  }
  return values;
}

TEST(NistCertified, NumAcc2) {
  const auto values = NumAcc(1.2, 1.1, 1.3);
  EXPECT_NEAR(base::Mean(values), 1.2, 1e-13);
}

TEST(NistCertified, NumAcc3) {
  const auto values = NumAcc(1000000.2, 1000000.1, 1000000.3);
  EXPECT_NEAR(base::Mean(values), 1000000.2, 1e-7);
}

TEST(NistCertified, NumAcc4) {
  const auto values = NumAcc(10000000.2, 10000000.1, 10000000.3);
  EXPECT_NEAR(base::Mean(values), 10000000.2, 1e-6);
}

struct Certified {
  const char* set;
  double mean;
};

TEST(NistCertified, WholeSeries) {
  auto sets = tests::NistSeries();
  if (sets.empty()) {
    GTEST_SKIP() << "the NIST series are not at " << support::Shared();
  }
  for (const auto& [set, mean] :
       {Certified{"lew", -177.435000000000}, Certified{"lottery", 518.958715596330},
        Certified{"mavro", 2.00185600000000}, Certified{"michelson", 299.852400000000}}) {
    ASSERT_FALSE(sets[set].empty()) << set;
    EXPECT_NEAR(base::Mean(sets[set]) / mean, 1, 1e-13) << set;
  }
}

}  // namespace
