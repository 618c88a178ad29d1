// SPDX-License-Identifier: Apache-2.0
//
// Which part of the PC lost pictures: moments with missing frames held against its signs.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "report/explain/signs.h"

namespace report {

inline constexpr char kProgramEnded[] = "the recording program ended";

/// Pictures missing one after the other in one output or recording.
struct MissingMoment {
  double from_s = 0;
  double to_s = 0;
  std::string output;
  // That they were charged to; kNone where nothing tells (a finished recording), kEnd where a
  // recording ends.
  bench::Stage stage = bench::Stage::kNone;
  std::int64_t frames = 0;
  std::int64_t runs = 0;  // that were joined; 0: in no account (warm-up)
  double last_s = 0;      // where the last of them began
  double within_s = 0;    // how far off its place in the signs' time may be
};

/// Time in which every picture came, and came in time.
struct CleanStretch {
  double from_s = 0;
  double to_s = 0;
};

/// All that an explanation rests on: of a rehearsal, or of a recording with the
/// log of what the PC did.
struct ExplainInput {
  std::vector<MissingMoment> moments;
  std::vector<CleanStretch> clean;
  SignSeries signs;
  CpuCount cpus;
};

inline constexpr char kCauseNotKnown[] = "not known";
inline constexpr char kClockStep[] = "clock step";

/// A cause for which something speaks, and that is not proven.
struct Suspect {
  std::string cause;
  std::vector<std::string> speaks_for;
  std::vector<std::string> not_proven;  // what does not agree, or was not sampled
};

/// What one moment is charged to. A cause is named where the cause itself was seen (a process that
/// was stopped, a full disk, a limit reached, a step of the clock), or where two independent signs
/// agree in that moment and, if there are clean stretches, were absent or clearly weaker in them;
/// never for the pattern of the moments alone.
struct Explanation {
  std::string cause = kCauseNotKnown;
  std::vector<std::string> evidence_for;
  std::vector<std::string> evidence_against;  // other causes, and what speaks against each
  std::vector<Suspect> suspects;              // where the cause is not known: most signs first
};

/// One explanation per moment, in their order.
std::vector<Explanation> Explain(const ExplainInput& input);

/// What a technician can do about a cause.
std::string ActionFor(const std::string& cause);

}  // namespace report
