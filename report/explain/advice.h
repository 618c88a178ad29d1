// SPDX-License-Identifier: Apache-2.0
//
// Sentences round an explanation: the headline, what a pattern alone allows, what to record next.

#pragma once

#include <string>
#include <vector>

#include "report/explain/recording.h"

namespace report {

/// What the places of the holes allow by themselves; a cause is never named for them alone.
std::vector<std::string> PatternSays(const std::vector<RecordingDocument>& recordings);
/// "12 missing frames in 2 holes, 3.0 s to 8.5 s of the recording".
std::string Explains(const DropCause& cause);
/// What to record so that the next time more is known.
std::vector<std::string> NextTime(const RecordingCase& question,
                                  const RecordingExplanation& answer);
/// The last program that was watched; empty: none.
std::string WatchedProgram(const probes::WatchLog& log);
/// How long a moment is: "1.200 s", "a jump of 4.000 s", "the end".
std::string LengthText(const ExplainedMoment& moment);
/// "disk stall (may explain 12 missing frames in 2 moments)".
std::string SuspectLine(const RecordingSuspect& suspect);
std::string Headline(const RecordingCase& question, const RecordingExplanation& answer);

}  // namespace report
