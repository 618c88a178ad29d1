// SPDX-License-Identifier: Apache-2.0
//
// Comparisons and rankings as JSON.

#include <nlohmann/json.hpp>

#include "report/compare.h"
#include "report/stored/fields_comparison.h"
#include "report/stored/layout.h"
#include "report/stored/opening.h"
#include "report/stored/to_json.h"

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
