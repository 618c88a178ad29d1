// SPDX-License-Identifier: Apache-2.0
//
// The finding that bears on what limits.

#include "report/assess/first_repair.h"

#include <algorithm>

#include "report/data/finding.h"
#include "report/headroom/headroom.h"

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

/// The reason of most lost frames; of two alike the first.
const Finding* ReasonOfMostLost(const std::vector<Finding>& findings) {
  const Finding* most = nullptr;
  for (const Finding& finding : findings) {
    if (finding.lost_frames > (most == nullptr ? 0 : most->lost_frames) &&
        !finding.action.empty()) {
      most = &finding;
    }
  }
  return most;
}

}  // namespace

const Finding* FirstRepair(const std::vector<Headroom>& headroom,
                           const std::vector<Finding>& findings) {
  if (const Finding* reason = ReasonOfMostLost(findings)) {
    return reason;
  }
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

const Finding* FirstRepair(const Document& document) {
  const FairTest& fair = document.fair_test;
  if (!fair.took.empty() && !fair.short_anyway) {
    const auto found = std::find_if(
        document.findings.begin(), document.findings.end(),
        [&](const Finding& one) { return one.taken_by_others == fair.took.front().resource; });
    if (found != document.findings.end()) {
      return &*found;
    }
  }
  return FirstRepair(document.headroom, document.findings);
}

}  // namespace report
