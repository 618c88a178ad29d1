// SPDX-License-Identifier: Apache-2.0

#include "report/words/rate_names.h"

#include <array>
#include <cmath>

#include <fmt/format.h>

#include "base/rational.h"

namespace report {
namespace {

/// A measured mean of distances is that near at least; 60 and 59.94 are 999 ppm apart.
constexpr double kNamePpm = 200;

const base::Rational* StandardNear(double per_second, double most_ppm) {
  static const std::array<base::Rational, 17> rates = {
      base::Rational(10),           base::Rational(12), base::Rational(25, 2),
      base::Rational(15),           base::Rational(20), base::Rational(24000, 1001),
      base::Rational(24),           base::Rational(25), base::Rational(30000, 1001),
      base::Rational(30),           base::Rational(48), base::Rational(50),
      base::Rational(60000, 1001),  base::Rational(60), base::Rational(100),
      base::Rational(120000, 1001), base::Rational(120)};
  for (const base::Rational& rate : rates) {
    if (std::fabs(per_second / base::ToDouble(rate) - 1) * 1e6 <= most_ppm) {
      return &rate;
    }
  }
  return nullptr;
}

}  // namespace

std::string RateName(double per_second, double most_ppm) {
  const base::Rational* standard = StandardNear(per_second, most_ppm);
  return standard != nullptr ? base::ToShortText(*standard) : fmt::format("{:.4g}", per_second);
}

std::string RatePairText(double offered, double kept) {
  const double apart_ppm = std::fabs(offered / kept - 1) * 1e6;
  if (apart_ppm <= kNamePpm) {
    return fmt::format("{} by clocks that are {:.0f} ppm apart", RateName(offered, kNamePpm),
                       apart_ppm);
  }
  return RateName(offered, kNamePpm) + " into " + RateName(kept, kNamePpm);
}

}  // namespace report
