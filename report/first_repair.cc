// SPDX-License-Identifier: Apache-2.0
//
// The finding that bears on what limits.

#include "report/first_repair.h"

#include <algorithm>

#include "report/finding.h"
#include "report/headroom.h"

namespace report {
namespace {

// The row that sets the verdict: over capacity, else unknown, else below its margin.
const Headroom* LimitingRow(const std::vector<Headroom>& headroom) {
  const auto first = [&](auto limits) -> const Headroom* {
    const auto found = std::find_if(headroom.begin(), headroom.end(), limits);
    return found == headroom.end() ? nullptr : &*found;
  };
  if (const Headroom* over = first(OverCapacity)) {
    return over;
  }
  if (const Headroom* unknown = first([](const Headroom& row) { return !row.capacity; })) {
    return unknown;
  }
  return first(BelowMargin);
}

}  // namespace

const Finding* FirstRepair(const std::vector<Headroom>& headroom,
                           const std::vector<Finding>& findings) {
  const Headroom* limit = LimitingRow(headroom);
  for (const Severity severity : {Severity::kStop, Severity::kWarn}) {
    const Finding* first = nullptr;
    for (const Finding& finding : findings) {
      if (finding.severity != severity || finding.action.empty()) {
        continue;
      }
      if (limit != nullptr && BearsOn(finding, limit->resource)) {
        return &finding;
      }
      first = first == nullptr ? &finding : first;
    }
    if (first != nullptr) {
      return first;
    }
  }
  return nullptr;
}

}  // namespace report
