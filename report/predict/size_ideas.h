// SPDX-License-Identifier: Apache-2.0
//
// Changes of a production, or of its PC, that are worth trying where it does not fit.

#pragma once

#include <string>
#include <vector>

#include "report/predict/size_resources.h"

namespace report {

/// A change to try.
struct Idea {
  std::string what;
  std::vector<std::string> changes;
  RemedyCost cost = RemedyCost::kSetting;
  int group = 0;  // of two from one group only one makes sense
};

/// From what the production has and the result tells of; outputs that ask for less already are
/// left as they are.
std::vector<Idea> IdeasFor(const Sizer& sizer, const profiles::Profile& changed);

}  // namespace report
