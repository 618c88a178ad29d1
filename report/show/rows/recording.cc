// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/recording.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <string>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "base/text.h"
#include "report/fields/recording.h"
#include "report/words/quantities.h"
#include "report/words/rate_names.h"

namespace report {
namespace {

using probes::Beat;
using probes::TrackKind;
using probes::TrackTimes;
using show::Cell;
using show::Mark;

constexpr std::size_t kOnTerminal = 12;

/// "1:02:03.456": where an editor looks for it.
std::string Place(double seconds) {
  const double shown = std::max(0.0, std::min(seconds, 1e9));
  const auto ms = static_cast<std::int64_t>(std::llround(shown * 1000));
  return fmt::format("{}:{:02}:{:02}.{:03}", ms / 3'600'000, ms / 60'000 % 60, ms / 1000 % 60,
                     ms % 1000);
}

std::string UtcText(double unix_s) {
  if (!(unix_s > 0 && unix_s < 2.5e11)) {
    return "?";
  }
  return fmt::format("{:%Y-%m-%d %H:%M:%S} UTC",
                     fmt::gmtime(static_cast<std::time_t>(std::llround(unix_s))));
}

show::Part ReadPart(const probes::Recording& recording) {
  show::Facts facts;
  facts.Add("Recording", recording.name);
  facts.Add("Read", fmt::format("{} of {}, {}{}, from its {}",
                                base::FormatSeconds(recording.length_s), recording.container,
                                base::FormatBytes(static_cast<double>(recording.bytes)),
                                recording.segments > 1 ? " in " + Plural(recording.segments, "file")
                                                       : std::string(),
                                recording.read_from));
  if (!recording.started.empty()) {
    const probes::WallClockStart& start = recording.started.front();
    facts.Add("Started", fmt::format("{} by its {} (within {:.0f} s)", UtcText(start.unix_s),
                                     stored::WordOf(start.source), start.within_s));
  }
  for (const std::string& remark : recording.remarks) {
    facts.Add("Note", remark);
  }
  return {"What was read", {facts}};
}

Cell Count(std::int64_t count, Mark mark) {
  return {FormatCount(count), count > 0 ? mark : Mark::kNone};
}

std::string RateText(const TrackTimes& track) {
  if (track.kind == TrackKind::kAudio) {
    return "-";
  }
  if (track.beat != Beat::kConstant || track.rate_denominator <= 0) {
    return track.beat == Beat::kVariable ? "varies" : "?";
  }
  return RateName(
      static_cast<double>(track.rate_numerator) / static_cast<double>(track.rate_denominator), 1);
}

std::vector<Cell> RowOf(const TrackTimes& track) {
  const bool judged = track.kind == TrackKind::kAudio || track.beat == Beat::kConstant;
  const bool video = track.kind == TrackKind::kVideo;
  return {{fmt::format("{} {}", track.index, stored::WordOf(track.kind))},
          {RateText(track)},
          {judged ? FormatCount(track.due) : "?"},
          {FormatCount(track.present)},
          judged && video ? Count(track.missing, Mark::kStop) : Cell{video ? "?" : "-"},
          Count(track.repeated, Mark::kWarn),
          Count(track.out_of_order + track.swapped + track.untimed, Mark::kWarn),
          {track.jitter.count > 0 ? fmt::format("{:.2f} ms", track.jitter.p99_ms) : "-"}};
}

void AddPattern(const char* what, const GapPattern& pattern, show::Part& part) {
  if (pattern.shape != GapShape::kNone) {
    part.blocks.emplace_back(show::Note{{fmt::format(
        "{}: {}{} ({}).", what, stored::WordOf(pattern.shape),
        pattern.rates.empty() ? "" : ", as from " + pattern.rates, pattern.decided_by)}});
  }
}

show::Part TracksPart(const RecordingDocument& document) {
  show::Table table{"Tracks",
                    {{"Track", false, false, 10},
                     {"Rate", true},
                     {"Due", true},
                     {"Present", true},
                     {"Missing", true},
                     {"Repeated", true},
                     {"Order", true},
                     {"Jitter", true}},
                    {}};
  for (const TrackTimes& track : document.recording.tracks) {
    if (track.kind != TrackKind::kOther) {
      table.rows.push_back(RowOf(track));
      table.below.push_back(track.codec + (track.what.empty() ? "" : ", " + track.what));
    }
  }
  show::Part part{"Tracks", {table}};
  for (const TrackPattern& pattern : document.patterns) {
    AddPattern("Missing frames", pattern.missing, part);
    AddPattern("Repeated frames", pattern.repeated, part);
  }
  return part;
}

show::Part HolesPart(const TrackTimes& track) {
  show::Part part{fmt::format("Holes of track {}", track.index), {}};
  for (std::size_t i = 0; i < std::min(track.steps.size(), kOnTerminal); ++i) {
    part.blocks.emplace_back(show::Note{
        {fmt::format("At {} the track's clock jumps by {:+.3f} s; nothing is counted as missing "
                     "there.",
                     Place(track.steps[i].at_s), track.steps[i].by_s),
         Mark::kWarn}});
  }
  show::Table table{"From the start",
                    {{"At", false, false, 14},
                     {"Length", true},
                     {track.kind == TrackKind::kVideo ? "Frames" : "", true}},
                    {}};
  for (std::size_t i = 0; i < std::min(track.gaps.size(), kOnTerminal); ++i) {
    const probes::TimeGap& gap = track.gaps[i];
    table.rows.push_back({{Place(gap.at_s)},
                          {fmt::format("{:.3f} s", gap.length_s)},
                          {gap.missing > 0 ? FormatCount(gap.missing) : ""}});
  }
  if (!table.rows.empty()) {
    part.blocks.emplace_back(table);
  }
  const std::int64_t more = track.gap_count - static_cast<std::int64_t>(kOnTerminal);
  if (more > 0) {
    part.blocks.emplace_back(
        show::Note{{FormatCount(more) + " more; --json has up to 20,000.", Mark::kNote}});
  }
  return part;
}

show::Part ContentPart(const TrackTimes& track) {
  if (!track.content) {
    return {};
  }
  const probes::PictureContent& content = *track.content;
  show::Lines still;
  for (const probes::StillStretch& stretch : content.stretches) {
    if (stretch.length_s >= probes::kFrozenLeastSeconds && still.lines.size() < kOnTerminal) {
      still.lines.push_back({fmt::format("{} still for {:.3f} s, {}", Place(stretch.at_s),
                                         stretch.length_s, Plural(stretch.pictures, "frame"))});
    }
  }
  return {fmt::format("What the pictures of track {} show", track.index),
          {show::Note{{fmt::format(
               "{} decoded, {} damaged; {} repeat the one before, {} more stand still for {:.1f} s "
               "or longer. Same means: no block of 16 x 16 samples differs in the mean by more "
               "than {:.0f} of 255, or half of what noise changes, or all of it by a tenth of what "
               "the frames before changed.",
               FormatCount(content.decoded), FormatCount(content.damaged),
               FormatCount(content.repeated), FormatCount(content.frozen),
               probes::kFrozenLeastSeconds, probes::kSamePictureMostCodes)}},
           still}};
}

std::string SlopeText(const base::Reading<probes::ClockSlope>& slope) {
  if (!slope) {
    return "not known: " + slope.why_unknown();
  }
  constexpr double kMs = 3.6;
  return fmt::format("sound early by {:+.1f} ms an hour, {:+.2f} ppm (95 %: {:+.2f} to {:+.2f})",
                     slope->ppm * kMs, slope->ppm, slope->low_ppm, slope->high_ppm);
}

std::string MeaningText(const DriftMeaning& meaning) {
  if (meaning.noticed_after_s == 0) {
    return "No drift that a recording of this length could show.";
  }
  std::string what = fmt::format(
      "{:+.1f} ms at its end: {}; noticed ({:+.0f} or {:+.0f} ms, ITU-R BT.1359-1) "
      "after {} at that drift, not acceptable at {:+.0f} or {:+.0f} ms.",
      meaning.at_end_ms, stored::WordOf(meaning.at_end), kNoticedEarlyMs, kNoticedLateMs,
      base::FormatSeconds(meaning.noticed_after_s), kAcceptableEarlyMs, kAcceptableLateMs);
  if (meaning.certain) {
    return what;
  }
  return (meaning.from == DriftFrom::kEnds
              ? "Not proven; if both were started and stopped together, "
              : "Not proven; if it is one, ") +
         what;
}

show::Part LipSyncPart(const probes::AvDrift& drift, const DriftMeaning& meaning) {
  show::Facts facts;
  facts.Add("By timestamps", fmt::format("begins {:+.1f} ms, ends {:+.1f} ms after them",
                                         drift.starts_after_ms, drift.ends_after_ms));
  facts.Add("By counting", SlopeText(drift.by_clocks));
  facts.Add("By lengths", SlopeText(drift.by_ends) +
                              (drift.by_ends ? ", if both were started and stopped together" : ""));
  return {fmt::format("Sound of track {} against the pictures", drift.sound_track),
          {facts, show::Note{{MeaningText(meaning)}}}};
}

}  // namespace

show::Cell VerdictCell(RecordingVerdict verdict) {
  const bool whole = verdict == RecordingVerdict::kNothingMissing;
  const bool open = verdict == RecordingVerdict::kUnproven;
  return {std::string(stored::WordOf(verdict)), whole  ? Mark::kGood
                                                : open ? Mark::kUnknown
                                                       : Mark::kStop};
}

show::Sheet SheetOf(const RecordingDocument& document) {
  const probes::Recording& recording = document.recording;
  show::Sheet sheet{"What the recording holds",
                    VerdictCell(document.verdict),
                    document.headline,
                    {ReadPart(recording), TracksPart(document)}};
  for (const TrackTimes& track : recording.tracks) {
    sheet.parts.push_back(HolesPart(track));
    sheet.parts.push_back(ContentPart(track));
  }
  for (std::size_t i = 0; i < recording.drifts.size(); ++i) {
    sheet.parts.push_back(LipSyncPart(recording.drifts[i], document.lip_sync[i]));
  }
  return sheet;
}

std::vector<show::Sheet> SheetsOf(const std::vector<RecordingDocument>& documents) {
  std::vector<show::Sheet> sheets;
  sheets.reserve(documents.size());
  for (const RecordingDocument& document : documents) {
    sheets.push_back(SheetOf(document));
  }
  return sheets;
}

}  // namespace report
