// SPDX-License-Identifier: Apache-2.0
//
// What two inventories say differently, as places in their JSON.

#pragma once

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include "probes/data/inventory.h"
#include "report/stored/inventory_json.h"

namespace tests {

/// Adds "/usb/devices/2/product: X, not Y" for every value that differs; members called as one
/// of `passed_over` are not looked at.
inline void AddDifferences(const nlohmann::json& a, const nlohmann::json& b,
                           const std::vector<std::string>& passed_over, const std::string& place,
                           std::vector<std::string>& differences) {
  if (a.is_object() && b.is_object() && !a.contains("unknown") && !b.contains("unknown")) {
    const std::string below = place + "/";
    for (const auto& [key, value] : a.items()) {
      if (std::find(passed_over.begin(), passed_over.end(), key) == passed_over.end()) {
        AddDifferences(value, b.value(key, nlohmann::json()), passed_over, below + key,
                       differences);
      }
    }
  } else if (a.is_array() && b.is_array() && a.size() == b.size()) {
    for (std::size_t i = 0; i < a.size(); ++i) {
      AddDifferences(a[i], b[i], passed_over, place + "/" + std::to_string(i), differences);
    }
  } else if (a != b) {
    differences.push_back(place + ": " + a.dump() + ", not " + b.dump());
  }
}

/// Every {"unknown": reason} as just "unknown": a live system has other reasons ("permission
/// denied") than a stored tree ("no such file") for the same gap.
inline nlohmann::json WithoutReasons(nlohmann::json value) {
  if (value.is_object() && value.contains("unknown")) {
    return "unknown";
  }
  for (auto& part : value) {
    if (part.is_structured()) {
      part = WithoutReasons(std::move(part));
    }
  }
  return value;
}

inline std::vector<std::string> Differences(const probes::Inventory& a, const probes::Inventory& b,
                                            const std::vector<std::string>& passed_over) {
  std::vector<std::string> differences;
  AddDifferences(nlohmann::json::parse(report::InventoryJson(a)),
                 nlohmann::json::parse(report::InventoryJson(b)), passed_over, "", differences);
  return differences;
}

/// The same where one of them is a live system.
inline std::vector<std::string> DifferencesFromLive(const probes::Inventory& stored,
                                                    const probes::Inventory& live,
                                                    const std::vector<std::string>& passed_over) {
  std::vector<std::string> differences;
  AddDifferences(WithoutReasons(nlohmann::json::parse(report::InventoryJson(stored))),
                 WithoutReasons(nlohmann::json::parse(report::InventoryJson(live))), passed_over,
                 "", differences);
  return differences;
}

}  // namespace tests
