// SPDX-License-Identifier: Apache-2.0
//
// What the times of recordings mean: what is missing, in what shape, whether lips stay in sync.

#pragma once

#include <string>
#include <vector>

#include "probes/data/recording.h"

namespace report {

/// ITU-R BT.1359-1 (1998), considering g) and recommends 2: milliseconds that sound may be early
/// (above 0) or late (below 0) before viewers notice, and before it is not acceptable.
inline constexpr double kNoticedEarlyMs = 45;
inline constexpr double kNoticedLateMs = -125;
inline constexpr double kAcceptableEarlyMs = 90;
inline constexpr double kAcceptableLateMs = -185;

enum class LipSync { kNotKnown, kNotNoticed, kNoticed, kNotAcceptable };

/// Where an offset of sound against pictures lies. `early_ms` below 0: late.
LipSync LipSyncAt(double early_ms);

/// What a drift was told by.
enum class DriftFrom { kNone, kClocks, kEnds };

/// What a drift leads to, with its 95 % interval; positive: sound comes early, more and more.
struct DriftMeaning {
  int sound_track = 0;
  DriftFrom from = DriftFrom::kNone;
  double early_ms_per_hour = 0;
  double low_ms_per_hour = 0;
  double high_ms_per_hour = 0;
  bool certain = false;  // by clocks, four standard errors from none, and 5 ms or more in all
  double at_end_ms = 0;  // offset that has come together at the recording's end
  LipSync at_end = LipSync::kNotKnown;
  double noticed_after_s = 0;  // 0: never at that drift, or it may be none
};

/// The shape of losses over a recording.
enum class GapShape {
  kNone,
  kRegular,     // one beat beside another: rates that do not match
  kBursts,      // several pictures at a time, clean time around
  kRamp,        // more and more
  kThroughout,  // heavy from start to end
  kScattered,   // here and there, singly
  kStartOnly,
  kEndOnly,
};

struct GapPattern {
  GapShape shape = GapShape::kNone;
  std::string decided_by;   // a sentence fragment with the figures
  double spacing_s = 0;     // median from one to the next; 0 below two
  double spacing_cv = 0;    // standard deviation / mean of it; 0 below three
  double rate_offered = 0;  // kRegular: frames a second before and after; 0 else
  double rate_kept = 0;
  std::string rates = {};  // the same in words, "60 into 59.94"
};

enum class RecordingVerdict { kNothingMissing, kPartsMissing, kUnproven };

struct TrackPattern {
  int track = 0;
  GapPattern missing;
  GapPattern repeated;  // by content
};

struct RecordingDocument {
  probes::Recording recording;
  RecordingVerdict verdict = RecordingVerdict::kUnproven;
  std::string headline;
  std::vector<TrackPattern> patterns;  // of tracks of pictures
  std::vector<DriftMeaning> lip_sync;  // of tracks of sound
};

/// kPartsMissing: pictures or sound missing, or a track that begins or ends more than a second
/// apart from the recording. kUnproven: nothing missing in what could be read, but not all could;
/// or no constant beat, a clock that was set, fewer pictures than the file states or pictures
/// without times, so that nothing tells what was due; or no pictures and no sound with times.
RecordingDocument JudgeRecording(probes::Recording recording);

/// 0, 4, 5.
int ExitStatus(RecordingVerdict verdict);

/// One object: `format` "rigproof-examine", `version`, `verdict` (the worst) and `recordings`, each
/// with `verdict` ("nothing missing", "parts missing", "unproven"), `headline`, the members of
/// probes::Recording (`name`, `container`, `read_from`, `segments`, `bytes`, `length_s`, `state`,
/// `remarks`, `started`, `tracks`, `drifts`), `patterns` and `lip_sync`. Times are in seconds from
/// the recording's first time; what is not known is null or {"unknown": reason}.
std::string RecordingsJson(const std::vector<RecordingDocument>& documents);

}  // namespace report
