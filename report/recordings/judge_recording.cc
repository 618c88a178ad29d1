// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/data/recording.h"
#include "report/recordings/gap_pattern.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using probes::Beat;
using probes::ClockSlope;
using probes::Recording;
using probes::TrackKind;
using probes::TrackTimes;

constexpr double kMsPerHourPerPpm = 3.6;
/// Recorders begin and stop one track after the other; this much is no loss.
constexpr double kTogetherSeconds = 1;

/// Half intervals of 95 % that a slope must be away from none to be called certain: four standard
/// errors, since one in twenty of healthy recordings leaves a single one out.
constexpr double kHalvesForCertain = 2;
/// Less is no drift that anybody could hear, however sure it is.
constexpr double kLeastDriftMs = 5;
constexpr double kStepsForCertain = 3;

bool LeavesZeroOut(const ClockSlope& slope) {
  return slope.low_ppm > 0 || slope.high_ppm < 0;
}

/// A drift grows little by little; a few stamps that step by as much are none.
bool IsCertain(const ClockSlope& slope, double uneven_ms) {
  const double half = slope.ppm > 0 ? slope.ppm - slope.low_ppm : slope.high_ppm - slope.ppm;
  return std::fabs(slope.ppm) > kHalvesForCertain * half &&
         std::fabs(slope.ppm) * slope.seconds / 1000 >=
             std::max(kLeastDriftMs, kStepsForCertain * uneven_ms);
}

double UnevenMs(const Recording& recording, int track) {
  const auto found = std::find_if(recording.tracks.begin(), recording.tracks.end(),
                                  [track](const TrackTimes& one) { return one.index == track; });
  return found == recording.tracks.end() ? 0 : found->uneven_ms;
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
  meaning.from = by_ends || !clocks ? DriftFrom::kEnds : DriftFrom::kClocks;
  meaning.early_ms_per_hour = slope.ppm * kMsPerHourPerPpm;
  meaning.low_ms_per_hour = slope.low_ppm * kMsPerHourPerPpm;
  meaning.high_ms_per_hour = slope.high_ppm * kMsPerHourPerPpm;
  // Nothing says that both were started and stopped together.
  meaning.certain = meaning.from == DriftFrom::kClocks &&
                    IsCertain(slope, UnevenMs(recording, drift.sound_track));
  meaning.at_end_ms = meaning.early_ms_per_hour * recording.length_s / 3600;
  meaning.at_end = LipSyncAt(meaning.at_end_ms);
  if (LeavesZeroOut(slope)) {
    const double limit_ms = slope.ppm > 0 ? kNoticedEarlyMs : kNoticedLateMs;
    meaning.noticed_after_s = limit_ms / meaning.early_ms_per_hour * 3600;
  }
  return meaning;
}

/// Pictures, or sound, that stop before the recording does.
double EndsEarlySeconds(const Recording& recording, const TrackTimes& track) {
  const double early_s = recording.length_s - track.end_s;
  return early_s > kTogetherSeconds ? early_s : 0;
}

/// How far tracks of a kind begin and end apart from the recording; 0: together with it.
struct Apart {
  double begins_late_s = 0;
  double ends_early_s = 0;

  void Include(const Recording& recording, const TrackTimes& track) {
    begins_late_s = std::max(begins_late_s, track.first_s > kTogetherSeconds ? track.first_s : 0.0);
    ends_early_s = std::max(ends_early_s, EndsEarlySeconds(recording, track));
  }
};

struct Losses {
  std::int64_t pictures = 0;
  std::int64_t due = 0;
  double sound_s = 0;
  std::int64_t sound_holes = 0;
  Apart pictures_apart;
  Apart numbers_apart;  // of pictures without times, which is where holes were closed up
  Apart sound_apart;
  bool judged = false;                   // some track could tell
  const TrackTimes* variable = nullptr;  // pictures without a beat
  const TrackTimes* sparser = nullptr;   // pictures that are fewer than their file states
  bool numbered = false;                 // pictures that have numbers and no times
  std::int64_t steps = 0;                // of clocks that were set
  std::int64_t untimed = 0;              // pictures without a time
};

void AddPictures(const Recording& recording, const TrackTimes& track, Losses& losses) {
  const bool numbered = track.times_from == probes::TimesFrom::kNumbers;
  losses.judged = losses.judged || track.beat == Beat::kConstant;
  losses.variable = track.beat != Beat::kConstant ? &track : losses.variable;
  losses.numbered = losses.numbered || numbered;
  losses.sparser = track.stated_per_s > 0 ? &track : losses.sparser;
  losses.pictures += track.missing;
  losses.due += track.due;
  losses.untimed += track.untimed;
  (numbered ? losses.numbers_apart : losses.pictures_apart).Include(recording, track);
}

void AddSound(const Recording& recording, const TrackTimes& track, Losses& losses) {
  losses.judged = true;
  losses.sound_s += track.gap_seconds;
  losses.sound_holes += track.gap_count;
  losses.sound_apart.Include(recording, track);
}

Losses SumLosses(const Recording& recording) {
  Losses losses;
  for (const TrackTimes& track : recording.tracks) {
    if (track.kind == TrackKind::kVideo && track.present > 0) {
      AddPictures(recording, track, losses);
    } else if (track.kind == TrackKind::kAudio && track.present > track.untimed) {
      AddSound(recording, track, losses);
    } else {
      continue;
    }
    losses.steps = std::max(losses.steps, track.step_count);
  }
  if (losses.steps > 0) {
    // Where a clock was set, tracks are a little apart by that alone.
    losses.pictures_apart.ends_early_s = losses.sound_apart.ends_early_s = 0;
  }
  if (recording.ends != probes::FileEnd::kClosed) {
    losses.numbers_apart = {};  // lengths are written last
  }
  return losses;
}

std::string LossText(const Losses& losses) {
  std::string text;
  const auto add = [&text](const std::string& part) { text += (text.empty() ? "" : "; ") + part; };
  if (losses.pictures > 0) {
    add(fmt::format("{} of {} frames are missing", FormatCount(losses.pictures),
                    FormatCount(losses.due)));
  }
  if (losses.sound_holes > 0) {
    add(fmt::format("{} in the sound, {:.3f} s in all", Plural(losses.sound_holes, "hole"),
                    losses.sound_s));
  }
  const auto add_apart = [&add](const Apart& apart, const char* what, const char* begins,
                                const char* ends) {
    if (apart.begins_late_s > 0) {
      add(fmt::format("{} {} {:.1f} s after the recording does", what, begins,
                      apart.begins_late_s));
    }
    if (apart.ends_early_s > 0) {
      add(fmt::format("{} {} {:.1f} s before the recording does", what, ends, apart.ends_early_s));
    }
  };
  add_apart(losses.pictures_apart, "the pictures", "begin", "end");
  add_apart(losses.sound_apart, "the sound", "begins", "ends");
  return text;
}

std::string VariableText(const TrackTimes& track) {
  if (track.times_from == probes::TimesFrom::kPages) {
    return "its container tells the times of pages: which frames are missing cannot be told";
  }
  if (track.beat == Beat::kUnknown) {
    return "too few frames, or too coarse a clock, for a beat: what is missing cannot be told";
  }
  std::string text = "the frames have no constant beat: what is missing cannot be told";
  if (track.missing_at_fastest > 0) {
    text += fmt::format("; if {} a second were due, as where they come fastest, {} would be",
                        FormatNumber(track.fastest_per_s), FormatCount(track.missing_at_fastest));
  }
  return text;
}

std::string NumberedText(double ends_early_s) {
  const std::string text =
      "its container numbers frames: those left out without an empty place are not seen";
  return ends_early_s > 0
             ? fmt::format("{}; they end {:.1f} s before the recording does", text, ends_early_s)
             : text;
}

std::string SparserText(const TrackTimes& track) {
  const double held = static_cast<double>(track.rate_numerator) /
                      static_cast<double>(std::max<std::int64_t>(track.rate_denominator, 1));
  const double more = std::round(track.stated_per_s / held) - 1;
  return fmt::format("its file states {} frames a second and holds {}: if so, {} are missing",
                     FormatNumber(track.stated_per_s), FormatNumber(held),
                     FormatCount(std::llround(static_cast<double>(track.due) * more)));
}

/// Why what is missing cannot be told, or not all of it; empty where it can.
std::string DoubtText(const Losses& losses) {
  if (losses.variable != nullptr) {
    return VariableText(*losses.variable);
  }
  if (!losses.judged) {
    return "nothing in it has times";
  }
  if (losses.numbered && losses.pictures == 0) {
    return NumberedText(losses.numbers_apart.ends_early_s);
  }
  if (losses.sparser != nullptr) {
    return SparserText(*losses.sparser);
  }
  if (losses.steps > 0) {
    return fmt::format("its clock was set {}: what is missing there cannot be told",
                       losses.steps == 1 ? "once" : Plural(losses.steps, "time"));
  }
  return losses.untimed > 0
             ? fmt::format("{} have no time: whether they fill a hole cannot be told",
                           Plural(losses.untimed, "frame"))
             : "";
}

std::string ContentText(const Recording& recording) {
  std::string text;
  for (const TrackTimes& track : recording.tracks) {
    if (track.content && track.content->frozen + track.content->repeated > 0) {
      text +=
          fmt::format("; {} repeat the one before, {} more stand still",
                      Plural(track.content->repeated, "frame"), FormatCount(track.content->frozen));
    }
  }
  return text;
}

void SetVerdict(RecordingDocument& document) {
  const Recording& recording = document.recording;
  const Losses losses = SumLosses(recording);
  const std::string lost = LossText(losses);
  const std::string doubt = DoubtText(losses);
  const bool whole = recording.state == probes::ReadState::kWhole;
  if (!lost.empty()) {
    document.verdict = RecordingVerdict::kPartsMissing;
    document.headline = lost + (doubt.empty() ? "" : "; " + doubt);
  } else if (!doubt.empty()) {
    document.verdict = RecordingVerdict::kUnproven;
    document.headline = doubt;
  } else {
    document.verdict = whole ? RecordingVerdict::kNothingMissing : RecordingVerdict::kUnproven;
    document.headline = losses.due > 0 ? fmt::format("all {} frames that were due are there",
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
          "none before, and {:.1f} s of the recording without frames at its end", early_s);
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
