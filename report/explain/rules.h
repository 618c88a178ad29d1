// SPDX-License-Identifier: Apache-2.0
//
// The causes that can be named, and the signs that must agree for each.

#pragma once

#include <limits>
#include <string>
#include <vector>

#include "report/explain/signs.h"

namespace report {

enum class Bound { kAtLeast, kAtMost };
/// Over the samples of a moment. kHowOften: what the samples add up to, in lengths of the hole.
enum class Take { kMean, kHighest, kLowest, kHowOften };

/// One sign against its limit.
struct SignTest {
  Sign sign = Sign::kCpuFull;
  Bound bound = Bound::kAtLeast;
  double limit = 0;
  Take take = Take::kMean;
  /// How much further on the bad side than in clean stretches it must be.
  double contrast = 0;
  /// The limit where there is no clean stretch to compare with.
  double limit_alone = std::numeric_limits<double>::quiet_NaN();
};

/// Signs that say the same by different ways: one is enough.
using SignGroup = std::vector<SignTest>;

struct CauseRule {
  const char* cause = "";
  std::vector<bench::Stage> stages;  // it can be named for; empty: all
  std::vector<SignGroup> groups;     // all must hold; at least two independent ones, but where
  std::string action;
  bool seen = false;  // the first group is the cause itself, observed: the others need not hold
};

/// From the most to the least telling: the first that holds is named.
const std::vector<CauseRule>& CauseRules();

}  // namespace report
