// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/quantities.h"
#include "report/recording.h"

namespace report {
namespace {

using probes::Beat;
using probes::ClockSlope;
using probes::Recording;
using probes::TrackKind;
using probes::TrackTimes;

constexpr double kMsPerHourPerPpm = 3.6;
/// Recorders stop one track after the other; this much is no loss.
constexpr double kEndTogetherSeconds = 1;

bool LeavesZeroOut(const ClockSlope& slope) {
  return slope.low_ppm > 0 || slope.high_ppm < 0;
}

DriftMeaning MeaningOf(const Recording& recording, const probes::AvDrift& drift) {
  DriftMeaning meaning;
  meaning.sound_track = drift.sound_track;
  const auto& clocks = drift.by_clocks;
  const auto& ends = drift.by_ends;
  const bool by_ends = ends && LeavesZeroOut(*ends) && !(clocks && LeavesZeroOut(*clocks));
  if (!clocks && !ends) {
    return meaning;
  }
  const ClockSlope& slope = by_ends || !clocks ? *ends : *clocks;
  meaning.from = by_ends || !clocks ? "ends" : "clocks";
  meaning.early_ms_per_hour = slope.ppm * kMsPerHourPerPpm;
  meaning.low_ms_per_hour = slope.low_ppm * kMsPerHourPerPpm;
  meaning.high_ms_per_hour = slope.high_ppm * kMsPerHourPerPpm;
  meaning.certain = LeavesZeroOut(slope);
  meaning.at_end_ms = meaning.early_ms_per_hour * recording.length_s / 3600;
  meaning.at_end = LipSyncAt(meaning.at_end_ms);
  if (meaning.certain) {
    const double limit_ms = slope.ppm > 0 ? kNoticedEarlyMs : kNoticedLateMs;
    meaning.noticed_after_s = limit_ms / meaning.early_ms_per_hour * 3600;
  }
  return meaning;
}

/// Pictures that stop before the recording does.
double EndsEarlySeconds(const Recording& recording, const TrackTimes& pictures) {
  const double early = recording.length_s - pictures.end_s;
  return early > kEndTogetherSeconds ? early : 0;
}

struct Losses {
  std::int64_t pictures = 0;
  std::int64_t due = 0;
  double sound_s = 0;
  std::int64_t sound_holes = 0;
  double ends_early_s = 0;
  bool judged = false;    // some track could tell
  bool variable = false;  // pictures without a beat
};

Losses SumLosses(const Recording& recording) {
  Losses losses;
  for (const TrackTimes& track : recording.tracks) {
    if (track.kind == TrackKind::kVideo && track.present > 0) {
      losses.judged = losses.judged || track.beat == Beat::kConstant;
      losses.variable = losses.variable || track.beat != Beat::kConstant;
      losses.pictures += track.missing;
      losses.due += track.due;
      losses.ends_early_s = std::max(losses.ends_early_s, EndsEarlySeconds(recording, track));
    } else if (track.kind == TrackKind::kAudio && track.present > track.untimed) {
      losses.judged = true;
      losses.sound_s += track.gap_seconds;
      losses.sound_holes += track.gap_count;
    }
  }
  return losses;
}

std::string LossText(const Losses& losses) {
  std::string text;
  const auto add = [&text](const std::string& part) { text += (text.empty() ? "" : "; ") + part; };
  if (losses.pictures > 0) {
    add(fmt::format("{} of {} pictures are missing", FormatCount(losses.pictures),
                    FormatCount(losses.due)));
  }
  if (losses.sound_holes > 0) {
    add(fmt::format("{} in the sound, {:.3f} s in all", Plural(losses.sound_holes, "hole"),
                    losses.sound_s));
  }
  if (losses.ends_early_s > 0) {
    add(fmt::format("the pictures end {:.1f} s before the recording does", losses.ends_early_s));
  }
  return text;
}

std::string ContentText(const Recording& recording) {
  std::string text;
  for (const TrackTimes& track : recording.tracks) {
    if (track.content && track.content->frozen + track.content->repeated > 0) {
      text += fmt::format("; {} repeat the one before, {} more stand still",
                          Plural(track.content->repeated, "picture"),
                          FormatCount(track.content->frozen));
    }
  }
  return text;
}

void SetVerdict(RecordingDocument& document) {
  const Recording& recording = document.recording;
  const Losses losses = SumLosses(recording);
  const std::string lost = LossText(losses);
  const bool whole = recording.state == probes::ReadState::kWhole;
  if (!lost.empty()) {
    document.verdict = RecordingVerdict::kPartsMissing;
    document.headline = lost;
  } else if (!losses.judged || losses.variable) {
    document.verdict = RecordingVerdict::kUnproven;
    document.headline = losses.variable
                            ? "the pictures have no constant beat: their times cannot tell whether "
                              "any is missing"
                            : "nothing in it has times";
  } else {
    document.verdict = whole ? RecordingVerdict::kNothingMissing : RecordingVerdict::kUnproven;
    document.headline = losses.due > 0 ? fmt::format("all {} pictures that were due are there",
                                                     FormatCount(losses.due))
                                       : "no hole in the sound";
  }
  document.headline += ContentText(recording);
  if (!whole) {
    document.headline += ", as far as it could be read";
  }
}

}  // namespace

LipSync LipSyncAt(double early_ms) {
  if (!std::isfinite(early_ms)) {
    return LipSync::kNotKnown;
  }
  if (early_ms > kAcceptableEarlyMs || early_ms < kAcceptableLateMs) {
    return LipSync::kNotAcceptable;
  }
  return early_ms > kNoticedEarlyMs || early_ms < kNoticedLateMs ? LipSync::kNoticed
                                                                 : LipSync::kNotNoticed;
}

RecordingDocument JudgeRecording(probes::Recording recording) {
  RecordingDocument document;
  document.recording = std::move(recording);
  for (const TrackTimes& track : document.recording.tracks) {
    if (track.kind != TrackKind::kVideo) {
      continue;
    }
    TrackPattern pattern;
    pattern.track = track.index;
    pattern.missing = NameGapPattern(MissingPlaces(track));
    pattern.repeated = NameGapPattern(RepeatedPlaces(track));
    const double early_s = EndsEarlySeconds(document.recording, track);
    if (early_s > 0 && track.missing == 0) {
      pattern.missing.shape = GapShape::kEndOnly;
      pattern.missing.decided_by = fmt::format(
          "none before, and {:.1f} s of the recording without pictures at its end", early_s);
    }
    document.patterns.push_back(std::move(pattern));
  }
  for (const probes::AvDrift& drift : document.recording.drifts) {
    document.lip_sync.push_back(MeaningOf(document.recording, drift));
  }
  SetVerdict(document);
  return document;
}

int ExitStatus(RecordingVerdict verdict) {
  switch (verdict) {
    case RecordingVerdict::kNothingMissing:
      return 0;
    case RecordingVerdict::kPartsMissing:
      return 4;
    case RecordingVerdict::kUnproven:
      return 5;
  }
  return 5;
}

}  // namespace report
