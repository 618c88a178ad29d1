// SPDX-License-Identifier: Apache-2.0
//
// Why recordings lost pictures: their holes held against the log of a watch.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "probes/data/telemetry.h"
#include "probes/data/watch_log.h"
#include "report/data/document.h"
#include "report/data/recording.h"
#include "report/explain/explain.h"
#include "report/recordings/place_recording.h"

namespace report {

/// What an explanation starts from.
struct RecordingCase {
  std::string program_version;
  std::vector<RecordingDocument> recordings;
  std::vector<LogPlace> places;         // one for each recording; none without a log
  std::string log_name;                 // as it was given; empty: no log
  std::optional<probes::WatchLog> log;  // samples round the recordings
  probes::TelemetryRecord telemetry;    // RecordOfWatch of the same samples
};

/// Holes of one recording that follow each other closely, or its early end (`stage` kEnd).
struct ExplainedMoment {
  std::size_t recording = 0;
  int track = 0;
  double at_s = 0;                           // in the recording
  double length_s = 0;                       // until the last that is missing
  bench::Stage stage = bench::Stage::kNone;  // or kEnd
  std::int64_t missing = 0;                  // 0 where the log saw the clock set: the times jump
  double jump_s = 0;                         // how far, by the hole in the times; 0: no jump
  std::optional<double> log_s;               // the same moment in the log
  Explanation explanation;
};

/// A cause that is not proven, over all moments that it may have caused.
struct RecordingSuspect {
  Suspect suspect;  // as in the moment that lost most
  std::int64_t missing = 0;
  std::int64_t moments = 0;
};

struct RecordingExplanation {
  RecordingVerdict verdict = RecordingVerdict::kUnproven;
  std::string headline;
  std::vector<RecordingDocument> recordings;  // as asked, without the holes that are jumps
  std::string first_cause;                    // ranked first; empty: nothing to explain
  std::vector<DropCause> causes;              // most missing frames first; an early end before them
  std::vector<RecordingSuspect> suspects;     // of the moments whose cause is not known
  std::vector<ExplainedMoment> moments;       // in order of recording and time
  std::vector<std::string> pattern_says;      // what the holes' places alone allow, and no more
  std::vector<std::string> next_time;         // what to record
  SignSeries signs;                           // for the timeline, in seconds of the log
};

RecordingExplanation ExplainRecordings(const RecordingCase& question);

/// One object: `format` "rigproof-explain", `version`, `verdict`, `headline`, `first_cause`,
/// `recordings[]`, `log`, `causes[]`, `suspects[]`, `moments[]`, `pattern_says[]`, `next_time[]`.
std::string ExplanationJson(const RecordingCase& question, const RecordingExplanation& answer);

}  // namespace report
