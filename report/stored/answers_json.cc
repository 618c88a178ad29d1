// SPDX-License-Identifier: Apache-2.0
//
// What the commands that put no load on a PC answer, as JSON.

#include <algorithm>

#include <nlohmann/json.hpp>

#include "report/compare/compare.h"
#include "report/data/recording.h"
#include "report/fields/comparison.h"
#include "report/fields/layout.h"
#include "report/fields/line_check.h"
#include "report/fields/recording.h"
#include "report/fields/report.h"
#include "report/fields/sizing.h"
#include "report/fields/to_json.h"
#include "report/line_check/line_check.h"
#include "report/predict/size.h"
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

std::string SizingJson(const Sizing& sizing) {
  stored::Json json = stored::Opening("rigproof-sizing", 1);
  json.update(stored::ToJson(sizing));
  return stored::Layout(json);
}

std::string LineCheckJson(const LineDocument& document) {
  using stored::ToJson;
  stored::Json json = stored::Json::object();
  json["format"] = "rigproof-line-check";
  json["version"] = 1;
  json["verdict"] = ToJson(document.verdict);
  json["complete"] = document.complete;
  json["headline"] = document.headline;
  json["findings"] = ToJson(document.findings);
  json.update(ToJson(document.check));
  return stored::Layout(json);
}

std::string RecordingsJson(const std::vector<RecordingDocument>& documents) {
  using stored::ToJson;
  // Missing is worse than unproven, which is worse than nothing missing.
  const auto rank = [](RecordingVerdict verdict) {
    return verdict == RecordingVerdict::kPartsMissing ? 2
           : verdict == RecordingVerdict::kUnproven   ? 1
                                                      : 0;
  };
  RecordingVerdict worst = RecordingVerdict::kNothingMissing;
  stored::Json all = stored::Json::array();
  for (const RecordingDocument& document : documents) {
    worst = rank(document.verdict) > rank(worst) ? document.verdict : worst;
    stored::Json json = stored::Json::object();
    json["verdict"] = ToJson(document.verdict);
    json["headline"] = document.headline;
    json.update(ToJson(document.recording));
    json["patterns"] = ToJson(document.patterns);
    json["lip_sync"] = ToJson(document.lip_sync);
    all.push_back(std::move(json));
  }
  stored::Json json = stored::Json::object();
  json["format"] = "rigproof-examine";
  json["version"] = 1;
  json["verdict"] = ToJson(worst);
  json["recordings"] = std::move(all);
  return stored::Layout(json);
}

}  // namespace report
