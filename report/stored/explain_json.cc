// SPDX-License-Identifier: Apache-2.0
//
// Why recordings lost pictures, as JSON.

#include <nlohmann/json.hpp>

#include "report/explain/advice.h"
#include "report/explain/recording.h"
#include "report/fields/layout.h"
#include "report/fields/recording.h"
#include "report/fields/report.h"
#include "report/fields/to_json.h"
#include "report/stored/fields_explain.h"

namespace report {
namespace {

using stored::Json;
using stored::ToJson;

Json RecordingJson(const RecordingCase& question, const RecordingExplanation& answer,
                   std::size_t index) {
  const RecordingDocument& document = answer.recordings[index];
  Json json = Json::object();
  json["name"] = document.recording.name;
  json["verdict"] = ToJson(document.verdict);
  json["headline"] = document.headline;
  json["length_s"] = document.recording.length_s;
  json["patterns"] = ToJson(document.patterns);
  json["place"] = question.log ? ToJson(question.places[index]) : Json(nullptr);
  return json;
}

Json LogJson(const RecordingCase& question) {
  if (!question.log) {
    return nullptr;
  }
  const probes::WatchLog& log = *question.log;
  return {{"name", question.log_name},
          {"began_at", log.head.began_at},
          {"begins_s", log.begins_s},
          {"ends_s", log.ends_s},
          {"ended", log.ended},
          {"damaged_bytes", log.damaged_bytes},
          {"program", WatchedProgram(log)},
          {"clock_steps", log.clock_steps.size()}};
}

Json MomentJson(const ExplainedMoment& moment) {
  Json json = Json::object();
  json["recording"] = moment.recording;
  json["track"] = moment.track;
  json["at_s"] = moment.at_s;
  json["length_s"] = moment.length_s;
  json["is_end"] = moment.stage == bench::Stage::kEnd;
  json["missing"] = moment.missing;
  json["jump_s"] = moment.jump_s;
  json["log_s"] = ToJson(moment.log_s);
  json["cause"] = moment.explanation.cause;
  json["evidence_for"] = moment.explanation.evidence_for;
  json["evidence_against"] = moment.explanation.evidence_against;
  return json;
}

}  // namespace

std::string ExplanationJson(const RecordingCase& question, const RecordingExplanation& answer) {
  Json json = Json::object();
  json["format"] = "rigproof-explain";
  json["version"] = 1;
  json["verdict"] = ToJson(answer.verdict);
  json["headline"] = answer.headline;
  json["first_cause"] = answer.first_cause.empty() ? Json(nullptr) : Json(answer.first_cause);
  json["recordings"] = Json::array();
  for (std::size_t i = 0; i < question.recordings.size(); ++i) {
    json["recordings"].push_back(RecordingJson(question, answer, i));
  }
  json["log"] = LogJson(question);
  json["causes"] = ToJson(answer.causes);
  json["suspects"] = Json::array();
  for (const RecordingSuspect& one : answer.suspects) {
    json["suspects"].push_back({{"cause", one.suspect.cause},
                                {"missing", one.missing},
                                {"moments", one.moments},
                                {"speaks_for", one.suspect.speaks_for},
                                {"not_proven", one.suspect.not_proven}});
  }
  json["moments"] = Json::array();
  for (const ExplainedMoment& moment : answer.moments) {
    json["moments"].push_back(MomentJson(moment));
  }
  json["pattern_says"] = answer.pattern_says;
  json["next_time"] = answer.next_time;
  return stored::Layout(json);
}

}  // namespace report
