// SPDX-License-Identifier: Apache-2.0

#include "report/stored/write_json.h"

#include <utility>

#include <nlohmann/json.hpp>

#include "profiles/text/reader.h"
#include "report/data/writers.h"
#include "report/fields/bench.h"
#include "report/fields/demand_rows.h"
#include "report/fields/evidence_keys.h"
#include "report/fields/layout.h"
#include "report/fields/probes.h"
#include "report/fields/report.h"
#include "report/fields/to_json.h"
#include "report/stored/opening.h"
#include "report/stored/what_if_json.h"
#include "report/what_if/what_if.h"

namespace report {
namespace {

using stored::Json;
using stored::Opening;
using stored::ToJson;

/// In the profile's own format, so that it can be cut out and used again.
Json ProfileJson(const profiles::Profile& profile) {
  Json json = Json::parse(profiles::ToJsonText(profile), nullptr, false);
  return json.is_discarded() ? Json(nullptr) : json;
}

void AddMeasured(const Evidence& evidence, Json& json) {
  const bench::Results& results = evidence.results;
  json["rehearsal"] = ToJson(results.rehearsal);
  json["flat_out"] = ToJson(results.flat_out);
  json["grown_flat_out"] = ToJson(results.grown_flat_out);
  json["contention"] = ToJson(results.contention);
  json["hardware_encodes"] = ToJson(results.hardware_encodes);
  json["search"] = ToJson(results.search);
  json["ballast"] = ToJson(results.ballast);
  json["disks"] = ToJson(results.disks);
  json["costs"] = ToJson(results.costs);
}

}  // namespace

std::string WriteJson(const Document& document) {
  const Evidence& evidence = document.evidence;
  Json json = Opening(stored::kResultFormat, stored::kResultVersion);
  json["program_version"] = evidence.program_version;
  json["started_at"] = evidence.started_at;
  json["length"] = evidence.length;
  json["verdict"] = ToJson(document.verdict);
  json["complete"] = document.complete;
  json["headline"] = document.headline;
  json["first_limit"] = document.first_limit;
  json["reasons"] = ToJson(document.reasons);
  json["fair_test"] = ToJson(document.fair_test);
  json["headroom"] = ToJson(document.headroom);
  json["headroom_by_ballast"] = ToJson(document.by_ballast);
  json["findings"] = ToJson(document.findings);
  json["cautions"] = ToJson(document.cautions);
  json["profile"] = ProfileJson(evidence.profile);
  json["demand"] = ToJson(stored::DemandRows(evidence.demand));
  json["demand_detail"] = ToJson(evidence.demand);
  json["wiring"] = ToJson(document.wiring);
  json["streams"] = ToJson(document.streams);
  json["move_plan"] = ToJson(document.move_plan);  // null: nothing to move
  json["causes"] = ToJson(document.causes);
  json["steps"] = ToJson(document.steps);
  json["proof"] = ToJson(document.proof);
  json["capacity"] = ToJson(document.capacity);  // null: not predicted
  AddMeasured(evidence, json);
  json["what_if"] = WhatIfJson(MakeWhatIf(evidence));  // null: not told
  json["method"] = ToJson(document.method);
  json["machine"] = ToJson(evidence.inventory);
  json["command"] = ToJson(evidence.command);
  json["telemetry_before"] = ToJson(evidence.before);
  json["telemetry"] = ToJson(evidence.telemetry);
  json["ballast_telemetry"] = ToJson(evidence.ballast_telemetry);
  return stored::Layout(json);
}

std::string DemandJson(const profiles::Profile& profile, const profiles::Demand& demand) {
  Json json = Opening("rigproof-demand", 1);
  json["profile"] = ProfileJson(profile);
  json["demand"] = ToJson(stored::DemandRows(demand));
  json["demand_detail"] = ToJson(demand);
  return stored::Layout(json);
}

}  // namespace report
