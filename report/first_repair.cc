// SPDX-License-Identifier: Apache-2.0
//
// Findings tied to the resources that they bear on.

#include "report/first_repair.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

#include "report/headroom.h"

namespace report {
namespace {

using Tie = std::pair<std::string_view, std::string_view>;

// Beginning of a finding's id, and the resource that it takes from.
constexpr std::array kTies = std::to_array<Tie>({
    {"background-cpu", "cpu"}, {"background-cpu", "encoder"},
    {"cpu-", "cpu"},           {"cpu-", "encoder"},
    {"host-steal", "cpu"},     {"host-steal", "encoder"},
    {"power-", "cpu"},         {"power-", "encoder"},
    {"encoder-", "encoder"},   {"encoder-", "encode sessions"},
    {"disk-", "disk"},         {"file-scanners", "disk"},
    {"space-", "space"},       {"file-size", "file size"},
    {"network-", "network"},   {"usb-", "usb"},
    {"cable-", "usb"},         {"pcie-", "pcie"},
    {"swap", "memory"},        {"memory-", "memory"},
    {"displays-", "displays"},
});

bool BearsOn(const Finding& finding, const Headroom& row) {
  return std::any_of(kTies.begin(), kTies.end(), [&](const Tie& tie) {
    return finding.id.starts_with(tie.first) && row.resource == tie.second;
  });
}

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
      if (limit != nullptr && BearsOn(finding, *limit)) {
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
