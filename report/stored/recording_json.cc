// SPDX-License-Identifier: Apache-2.0
//
// What the times of recordings mean, as JSON.

#include <algorithm>

#include <nlohmann/json.hpp>

#include "report/data/recording.h"
#include "report/fields/layout.h"
#include "report/fields/recording.h"
#include "report/fields/to_json.h"

namespace report {

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
