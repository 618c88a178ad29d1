// SPDX-License-Identifier: Apache-2.0
//
// Members of what is told of a recording, and the words in it.

#pragma once

#include "probes/data/recording.h"
#include "report/data/recording.h"
#include "report/fields/fields.h"
#include "report/fields/words.h"

template <>
inline constexpr std::array<base::Word<probes::TrackKind>, 3> base::kWords<probes::TrackKind>{
    {{probes::TrackKind::kVideo, "pictures"},
     {probes::TrackKind::kAudio, "sound"},
     {probes::TrackKind::kOther, "other"}}};

template <>
inline constexpr std::array<base::Word<probes::RateFrom>, 3> base::kWords<probes::RateFrom>{
    {{probes::RateFrom::kUnknown, "unknown"},
     {probes::RateFrom::kContainer, "container"},
     {probes::RateFrom::kTimestamps, "timestamps"}}};

template <>
inline constexpr std::array<base::Word<probes::TimesFrom>, 3> base::kWords<probes::TimesFrom>{
    {{probes::TimesFrom::kStamps, "stamps"},
     {probes::TimesFrom::kNumbers, "numbers"},
     {probes::TimesFrom::kPages, "pages"}}};

template <>
inline constexpr std::array<base::Word<probes::Beat>, 3> base::kWords<probes::Beat>{
    {{probes::Beat::kUnknown, "unknown"},
     {probes::Beat::kConstant, "constant"},
     {probes::Beat::kVariable, "variable"}}};

template <>
inline constexpr std::array<base::Word<probes::ClockSource>, 5> base::kWords<probes::ClockSource>{
    {{probes::ClockSource::kTimestamps, "timestamps"},
     {probes::ClockSource::kSegmentList, "segment list"},
     {probes::ClockSource::kCreationTime, "creation time"},
     {probes::ClockSource::kBirthTime, "file's birth"},
     {probes::ClockSource::kFileTime, "file time"}}};

template <>
inline constexpr std::array<base::Word<probes::ReadState>, 2> base::kWords<probes::ReadState>{
    {{probes::ReadState::kWhole, "whole"}, {probes::ReadState::kPartly, "partly"}}};

template <>
inline constexpr std::array<base::Word<probes::FileEnd>, 3> base::kWords<probes::FileEnd>{
    {{probes::FileEnd::kClosed, "closed"},
     {probes::FileEnd::kOpen, "open"},
     {probes::FileEnd::kCut, "cut"}}};

template <>
inline constexpr std::array<base::Word<report::GapShape>, 8> base::kWords<report::GapShape>{
    {{report::GapShape::kNone, "none"},
     {report::GapShape::kRegular, "regular"},
     {report::GapShape::kBursts, "bursts"},
     {report::GapShape::kRamp, "ramp"},
     {report::GapShape::kThroughout, "throughout"},
     {report::GapShape::kScattered, "scattered"},
     {report::GapShape::kStartOnly, "start only"},
     {report::GapShape::kEndOnly, "end only"}}};

template <>
inline constexpr std::array<base::Word<report::LipSync>, 4> base::kWords<report::LipSync>{
    {{report::LipSync::kNotKnown, "not known"},
     {report::LipSync::kNotNoticed, "not noticed"},
     {report::LipSync::kNoticed, "noticed"},
     {report::LipSync::kNotAcceptable, "not acceptable"}}};

template <>
inline constexpr std::array<base::Word<report::DriftFrom>, 3> base::kWords<report::DriftFrom>{
    {{report::DriftFrom::kNone, ""},
     {report::DriftFrom::kClocks, "clocks"},
     {report::DriftFrom::kEnds, "ends"}}};

template <>
inline constexpr std::array<base::Word<report::RecordingVerdict>, 3>
    base::kWords<report::RecordingVerdict>{
        {{report::RecordingVerdict::kNothingMissing, "nothing missing"},
         {report::RecordingVerdict::kPartsMissing, "parts missing"},
         {report::RecordingVerdict::kUnproven, "unproven"}}};

namespace report::stored {

RIGPROOF_FIELDS(probes::TimeGap, at_s, length_s, missing)
RIGPROOF_FIELDS(probes::TimeStep, at_s, by_s)
RIGPROOF_FIELDS(probes::Jitter, count, median_ms, p99_ms, most_ms)
RIGPROOF_FIELDS(probes::StillStretch, at_s, length_s, pictures)
RIGPROOF_FIELDS(probes::PictureContent, decoded, damaged, repeated, frozen, stretch_count,
                stretches)
RIGPROOF_FIELDS(probes::ClockSlope, ppm, low_ppm, high_ppm, seconds)
RIGPROOF_FIELDS(probes::TrackTimes, index, kind, codec, what, rate_numerator, rate_denominator,
                rate_from, times_from, beat, stated_per_s, fastest_per_s, missing_at_fastest,
                on_beat_percent, first_s, end_s, due, present, missing, repeated, out_of_order,
                swapped, untimed, damaged, gap_count, gap_seconds, gaps, step_count, steps,
                missing_in_part, jitter, uneven_ms, clock, content, bytes)
RIGPROOF_FIELDS(probes::AvDrift, sound_track, starts_after_ms, ends_after_ms, by_clocks, by_ends)
RIGPROOF_FIELDS(probes::WallClockStart, unix_s, within_s, source)
RIGPROOF_FIELDS(probes::Recording, name, container, read_from, segments, bytes, length_s, state,
                ends, remarks, started, tracks, drifts)
RIGPROOF_FIELDS(GapPattern, shape, decided_by, spacing_s, spacing_cv, rate_offered, rate_kept,
                rates)
RIGPROOF_FIELDS(TrackPattern, track, missing, repeated)
RIGPROOF_FIELDS(DriftMeaning, sound_track, from, early_ms_per_hour, low_ms_per_hour,
                high_ms_per_hour, certain, at_end_ms, at_end, noticed_after_s)

}  // namespace report::stored
