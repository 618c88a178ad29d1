// SPDX-License-Identifier: Apache-2.0

#include "report/data/finding.h"

#include <algorithm>

namespace report {

bool IsAbout(const Finding& finding, const Subject& subject) {
  return std::find(finding.about.begin(), finding.about.end(), subject) != finding.about.end();
}

bool BearsOn(const Finding& finding, Resource resource) {
  return std::find(finding.bears_on.begin(), finding.bears_on.end(), resource) !=
         finding.bears_on.end();
}

}  // namespace report
