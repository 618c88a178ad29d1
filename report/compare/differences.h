// SPDX-License-Identifier: Apache-2.0
//
// What is not the same in two JSON values, in words.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include <nlohmann/json.hpp>

#include "report/data/comparison.h"

namespace report {

struct DifferenceRules {
  std::vector<std::string_view> passed_over;  // keys whose values change by themselves
  std::vector<std::string_view> as_a_whole;   // keys below which only "changed" is said
};

/// Depth first, in the order of the keys of `before`. Objects in lists are known by their path,
/// address or name, else by their place; those on one side only are said once. No more than
/// kMostDifferences; the last one then says so.
inline constexpr std::size_t kMostDifferences = 200;
std::vector<ChangedFact> Differences(const nlohmann::ordered_json& before,
                                     const nlohmann::ordered_json& after,
                                     const DifferenceRules& rules);

}  // namespace report
