// SPDX-License-Identifier: Apache-2.0
//
// A line-check as JSON.

#include <nlohmann/json.hpp>

#include "report/fields/layout.h"
#include "report/fields/line_check.h"
#include "report/fields/report.h"
#include "report/fields/to_json.h"
#include "report/line_check/line_check.h"

namespace report {

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

}  // namespace report
