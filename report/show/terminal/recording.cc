// SPDX-License-Identifier: Apache-2.0
//
// What the times of recordings mean, on a terminal.

#include "report/data/recording.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <string>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "base/text.h"
#include "report/fields/recording.h"
#include "report/show/terminal/table.h"
#include "report/show/terminal/text.h"
#include "report/show/terminal/tones.h"
#include "report/words/quantities.h"
#include "report/words/rate_names.h"

namespace report {
namespace {

using probes::Beat;
using probes::TrackKind;
using probes::TrackTimes;

constexpr int kLabelColumns = 17;
constexpr std::size_t kGapsShown = 12;

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

std::string WhatWasRead(const probes::Recording& recording) {
  std::string text =
      fmt::format("{} of {}, {}", base::FormatSeconds(recording.length_s), recording.container,
                  base::FormatBytes(static_cast<double>(recording.bytes)));
  if (recording.segments > 1) {
    text += fmt::format(" in {}", Plural(recording.segments, "file"));
  }
  return text + ", read from its " + recording.read_from;
}

std::string StartText(const probes::WallClockStart& start) {
  return fmt::format("{} by its {} (within {:.0f} s)", UtcText(start.unix_s),
                     stored::WordOf(start.source), start.within_s);
}

Piece Count(std::int64_t count, Tone tone) {
  return {FormatCount(count), count > 0 ? tone : Tone::kPlain};
}

std::string RateCell(const TrackTimes& track) {
  if (track.kind == TrackKind::kAudio) {
    return "-";
  }
  if (track.beat != Beat::kConstant || track.rate_denominator <= 0) {
    return track.beat == Beat::kVariable ? "varies" : "?";
  }
  return RateName(
      static_cast<double>(track.rate_numerator) / static_cast<double>(track.rate_denominator), 1);
}

void PutTracks(TerminalPage& page, const probes::Recording& recording) {
  page.Heading("Tracks");
  TerminalTable table;
  table.columns = {{"track", false, 10}, {"rate", true},     {"due", true},   {"present", true},
                   {"missing", true},    {"repeated", true}, {"order", true}, {"jitter", true}};
  for (const TrackTimes& track : recording.tracks) {
    if (track.kind == TrackKind::kOther) {
      continue;
    }
    const bool judged = track.kind == TrackKind::kAudio || track.beat == Beat::kConstant;
    table.rows.push_back(
        {{fmt::format("{} {}", track.index, stored::WordOf(track.kind))},
         {RateCell(track)},
         {judged ? FormatCount(track.due) : "?"},
         {FormatCount(track.present)},
         judged && track.kind == TrackKind::kVideo
             ? Count(track.missing, Tone::kStop)
             : Piece{track.kind == TrackKind::kVideo ? "?" : "-"},
         Count(track.repeated, Tone::kWarn),
         Count(track.out_of_order + track.swapped + track.untimed, Tone::kWarn),
         {track.jitter.count > 0 ? fmt::format("{:.2f} ms", track.jitter.p99_ms) : "-"}});
    table.below.push_back(track.codec + (track.what.empty() ? "" : ", " + track.what));
  }
  PutTable(page, 2, table);
}

void PutPattern(TerminalPage& page, const char* what, const GapPattern& pattern) {
  if (pattern.shape == GapShape::kNone) {
    return;
  }
  std::string text = fmt::format("{}: {}", what, stored::WordOf(pattern.shape));
  text += pattern.rates.empty() ? "" : ", as from " + pattern.rates;
  page.Paragraph(2, {text + " (" + pattern.decided_by + ")."});
}

void PutGaps(TerminalPage& page, const TrackTimes& track) {
  if (track.gaps.empty()) {
    return;
  }
  page.Heading(fmt::format("Holes of track {}, from the start", track.index));
  TerminalTable table;
  const bool pictures = track.kind == TrackKind::kVideo;
  table.columns = {{"at", false, 14}, {"length", true}, {pictures ? "pictures" : "", true}};
  for (std::size_t i = 0; i < std::min(track.gaps.size(), kGapsShown); ++i) {
    const probes::TimeGap& gap = track.gaps[i];
    table.rows.push_back({{Place(gap.at_s)},
                          {fmt::format("{:.3f} s", gap.length_s)},
                          {gap.missing > 0 ? FormatCount(gap.missing) : ""}});
  }
  PutTable(page, 2, table);
  const std::int64_t more = track.gap_count - static_cast<std::int64_t>(kGapsShown);
  if (more > 0) {
    page.Paragraph(2, {FormatCount(more) + " more; --json has up to 20,000.", Tone::kDim});
  }
}

void PutSteps(TerminalPage& page, const TrackTimes& track) {
  for (std::size_t i = 0; i < std::min(track.steps.size(), kGapsShown); ++i) {
    page.Paragraph(2,
                   {fmt::format("Track {} at {}: its clock jumps by {:+.3f} s; nothing is counted "
                                "as missing there.",
                                track.index, Place(track.steps[i].at_s), track.steps[i].by_s),
                    Tone::kWarn});
  }
}

void PutContent(TerminalPage& page, const TrackTimes& track) {
  if (!track.content) {
    return;
  }
  const probes::PictureContent& content = *track.content;
  page.Heading(fmt::format("What the pictures of track {} show", track.index));
  page.Paragraph(2,
                 {fmt::format("{} decoded, {} damaged; {} repeat the one before, {} more stand "
                              "still for {:.1f} s or longer. Same means: no block of 16 x 16 "
                              "samples differs in the mean by more than {:.0f} of 255, or half "
                              "of what noise changes, or all of it by a tenth of what the pictures "
                              "before changed.",
                              FormatCount(content.decoded), FormatCount(content.damaged),
                              FormatCount(content.repeated), FormatCount(content.frozen),
                              probes::kFrozenLeastSeconds, probes::kSamePictureMostCodes)});
  std::size_t shown = 0;
  for (const probes::StillStretch& still : content.stretches) {
    if (still.length_s >= probes::kFrozenLeastSeconds && shown++ < kGapsShown) {
      page.Paragraph(4, {fmt::format("{} still for {:.3f} s, {}", Place(still.at_s), still.length_s,
                                     Plural(still.pictures, "picture"))});
    }
  }
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

void PutLipSync(TerminalPage& page, const RecordingDocument& document) {
  const auto& drifts = document.recording.drifts;
  for (std::size_t i = 0; i < drifts.size(); ++i) {
    const probes::AvDrift& drift = drifts[i];
    page.Heading(fmt::format("Sound of track {} against the pictures", drift.sound_track));
    page.Beside(2, {"by timestamps"}, kLabelColumns,
                {fmt::format("begins {:+.1f} ms, ends {:+.1f} ms after them", drift.starts_after_ms,
                             drift.ends_after_ms)});
    page.Beside(2, {"by counting"}, kLabelColumns, {SlopeText(drift.by_clocks)});
    page.Beside(2, {"by lengths"}, kLabelColumns,
                {SlopeText(drift.by_ends) +
                 (drift.by_ends ? ", if both were started and stopped together" : "")});
    page.Paragraph(2, {MeaningText(document.lip_sync[i])});
  }
}

void PutRecording(TerminalPage& page, const RecordingDocument& document) {
  const probes::Recording& recording = document.recording;
  page.Blank();
  page.Beside(0, WordOf(document.verdict), kLabelColumns, {document.headline, Tone::kStrong});
  page.Beside(0, {"recording"}, kLabelColumns, {recording.name});
  page.Beside(0, {"read"}, kLabelColumns, {WhatWasRead(recording), Tone::kDim});
  if (!recording.started.empty()) {
    page.Beside(0, {"started"}, kLabelColumns, {StartText(recording.started.front()), Tone::kDim});
  }
  for (const std::string& remark : recording.remarks) {
    page.Beside(0, {"note", Tone::kWarn}, kLabelColumns, {remark});
  }
  PutTracks(page, recording);
  for (const TrackPattern& pattern : document.patterns) {
    PutPattern(page, "Missing frames", pattern.missing);
    PutPattern(page, "Repeated frames", pattern.repeated);
  }
  for (const TrackTimes& track : recording.tracks) {
    PutSteps(page, track);
    PutGaps(page, track);
    PutContent(page, track);
  }
  PutLipSync(page, document);
}

}  // namespace

std::string WriteRecordingsText(const std::vector<RecordingDocument>& documents,
                                const TerminalStyle& style) {
  TerminalPage page(style);
  for (const RecordingDocument& document : documents) {
    PutRecording(page, document);
  }
  return page.text();
}

}  // namespace report
