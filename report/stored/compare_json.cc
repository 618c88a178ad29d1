// SPDX-License-Identifier: Apache-2.0
//
// Comparisons and rankings as JSON.

#include <nlohmann/json.hpp>

#include "report/compare/compare.h"
#include "report/fields/comparison.h"
#include "report/fields/layout.h"
#include "report/fields/to_json.h"
#include "report/stored/opening.h"

namespace report {

std::string ComparisonJson(const Comparison& comparison) {
  stored::Json json = stored::Opening("rigproof-comparison", 1);
  json.update(stored::ToJson(comparison));
  return stored::Layout(json);
}

std::string RankingJson(const Ranking& ranking) {
  stored::Json json = stored::Opening("rigproof-ranking", 1);
  json.update(stored::ToJson(ranking));
  return stored::Layout(json);
}

}  // namespace report
