// SPDX-License-Identifier: Apache-2.0

#include "base/stats/drop_bound.h"

#include <algorithm>
#include <limits>

#include <boost/math/distributions/chi_squared.hpp>

namespace base {
namespace {

constexpr double kConfidence = 0.95;
constexpr double kSecondsPerHour = 3600;
constexpr double kInfinity = std::numeric_limits<double>::infinity();

/// The mean of a Poisson count for which `count` or fewer has a chance of 5 %.
double PoissonMeanUpper(std::int64_t count) {
  namespace policies = boost::math::policies;
  using Quiet = policies::policy<policies::domain_error<policies::ignore_error>,
                                 policies::overflow_error<policies::ignore_error>,
                                 policies::evaluation_error<policies::ignore_error>>;
  const boost::math::chi_squared_distribution<double, Quiet> chi_squared(
      2 * (static_cast<double>(count) + 1));
  return boost::math::quantile(chi_squared, kConfidence) / 2;
}

}  // namespace

double DropsPerHourUpper95(std::int64_t drops, double seconds) {
  if (!(seconds > 0)) {
    return kInfinity;
  }
  return PoissonMeanUpper(std::max<std::int64_t>(drops, 0)) * kSecondsPerHour / seconds;
}

double SecondsToProve(double allowed_per_hour) {
  if (!(allowed_per_hour > 0)) {
    return kInfinity;
  }
  return PoissonMeanUpper(0) * kSecondsPerHour / allowed_per_hour;
}

}  // namespace base
