// SPDX-License-Identifier: Apache-2.0
//
// What the timestamps of a recording say: which pictures are missing, where, and how evenly the
// rest came.

#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/reading.h"

namespace probes {

/// Times in seconds from the recording's first time, unless told otherwise; where its clock was set
/// they go on without the step.

inline constexpr std::size_t kMostGaps = 20'000;      // kept of one track; all are counted
inline constexpr std::size_t kMostSteps = 1'000;      // the same of clock steps
inline constexpr std::size_t kMostTracks = 64;        // of one recording
inline constexpr std::size_t kMostRemarks = 20;       // of one recording
inline constexpr std::size_t kRecordingParts = 12;    // equal parts in which losses are summed
inline constexpr double kFrozenLeastSeconds = 0.5;    // shorter stretches are repeated pictures
inline constexpr double kSamePictureMostCodes = 1.0;  // see PictureContent
inline constexpr double kSameNoiseShare = 0.5;
inline constexpr double kSameChangeShare = 0.1;

enum class TrackKind { kVideo, kAudio, kOther };

/// A hole between two pictures, or two blocks of sound, that follow each other.
struct TimeGap {
  double at_s = 0;           // where the first thing that is missing was due
  double length_s = 0;       // of what is missing
  std::int64_t missing = 0;  // pictures; 0 for sound
};

/// A time that jumps back, or far ahead in all tracks: the clock that stamped it was set, or files
/// were joined. What is missing there cannot be told; places behind it go on from where it was.
struct TimeStep {
  double at_s = 0;  // of the last before it
  double by_s = 0;  // off the time that was due
};

/// Distances from the even beat, of pictures that follow each other without a hole.
struct Jitter {
  std::int64_t count = 0;
  double median_ms = 0;
  double p99_ms = 0;
  double most_ms = 0;
};

/// How the rate of a track is known.
enum class RateFrom { kUnknown, kContainer, kTimestamps };

/// What the times of pictures are. Without stamps of their own, pictures that a writer left out and
/// closed up leave nothing to see.
enum class TimesFrom {
  kStamps,
  kNumbers,  // AVI: a picture's time is its number
  kPages,    // Ogg: one time for all that a page holds
};

/// Whether pictures come in one beat. kUnknown: too few, or a clock too coarse to tell; missing
/// pictures are counted for kConstant only.
enum class Beat { kUnknown, kConstant, kVariable };

/// Pictures that show the same as the one before them, one after another.
struct StillStretch {
  double at_s = 0;            // of the first that repeats
  double length_s = 0;        // to the end of the last that repeats
  std::int64_t pictures = 0;  // that repeat
};

/// What was seen by decoding. A picture is the same as the one before when no block of 16 x 16
/// luma samples differs in the mean by more than kSamePictureMostCodes (of 255) or kSameNoiseShare
/// of what noise changes; or when it changes on the whole less than kSameChangeShare of what the
/// pictures before changed, and no block more than half of theirs. Encoders bring a picture that
/// was repeated back within that: they refine what they had left out.
struct PictureContent {
  std::int64_t decoded = 0;
  std::int64_t damaged = 0;   // that the decoder marked as damaged or refused
  std::int64_t repeated = 0;  // same as before, in stretches below kFrozenLeastSeconds
  std::int64_t frozen = 0;    // same as before, in stretches of at least that
  std::int64_t stretch_count = 0;
  std::vector<StillStretch> stretches;  // the first kMostGaps of them
};

/// Slope of a straight line with its 95 % interval.
struct ClockSlope {
  double ppm = 0;
  double low_ppm = 0;
  double high_ppm = 0;
  double seconds = 0;  // that it rests on
};

struct TrackTimes {
  int index = 0;
  TrackKind kind = TrackKind::kOther;
  std::string codec;
  std::string what;                 // "1920x1080", "48000 Hz, 2 channels"
  std::int64_t rate_numerator = 0;  // pictures or samples a second; 0: not known
  std::int64_t rate_denominator = 1;
  RateFrom rate_from = RateFrom::kUnknown;
  TimesFrom times_from = TimesFrom::kStamps;
  Beat beat = Beat::kUnknown;
  double stated_per_s = 0;   // the container's rate, where it is a multiple of what comes; else 0
  double fastest_per_s = 0;  // without a beat: where pictures come fastest; else 0
  std::int64_t missing_at_fastest = 0;  // without a beat: of those, if they were due all the time
  double on_beat_percent = 0;           // pictures within a quarter of a period of the beat
  double first_s = 0;
  double end_s = 0;  // of the last picture's period, or of the sound
  std::int64_t due =
      0;  // pictures that the beat asks for between first and last; of sound as present
  std::int64_t present = 0;       // packets that hold a picture, or a block of sound
  std::int64_t missing = 0;       // due = present - repeated - out_of_order - untimed + missing
  std::int64_t repeated = 0;      // a second picture in the time of one
  std::int64_t out_of_order = 0;  // came after pictures that follow them
  std::int64_t swapped = 0;       // stored behind what follows them, in a codec that never reorders
  std::int64_t untimed = 0;       // packets without any time
  std::int64_t damaged = 0;       // packets that the container marks as damaged
  std::int64_t gap_count = 0;
  double gap_seconds = 0;
  std::vector<TimeGap> gaps;  // the first kMostGaps of them
  std::int64_t step_count = 0;
  std::vector<TimeStep> steps;                                  // the first kMostSteps of them
  std::array<std::int64_t, kRecordingParts> missing_in_part{};  // of the track's length
  Jitter jitter;
  double uneven_ms = 0;  // of sound: most that a block's stamp was off the end of the one before
  std::optional<ClockSlope> clock;  // what it carries against its own timestamps
  std::optional<PictureContent> content;
  std::int64_t bytes = 0;
};

/// Which of kRecordingParts equal parts of a track a place lies in, by its ends.
inline std::size_t PartOf(const TrackTimes& track, double at_s) {
  const double length_s = track.end_s - track.first_s;
  const double part =
      length_s > 0 ? (at_s - track.first_s) / length_s * static_cast<double>(kRecordingParts) : 0;
  return static_cast<std::size_t>(std::clamp(part, 0.0, static_cast<double>(kRecordingParts - 1)));
}

/// Sound against the first track of pictures. Positive: sound comes early, more and more.
struct AvDrift {
  int sound_track = 0;
  double starts_after_ms = 0;  // sound after pictures, by their timestamps
  double ends_after_ms = 0;
  base::Reading<ClockSlope> by_clocks;  // samples and pictures counted against their timestamps
  base::Reading<ClockSlope> by_ends;    // lengths, if both were begun and stopped together
};

enum class ClockSource { kTimestamps, kSegmentList, kCreationTime, kBirthTime, kFileTime };

/// When the recording's first time was, by the wall clock.
struct WallClockStart {
  double unix_s = 0;    // UTC seconds since 1970
  double within_s = 0;  // how far off it may be
  ClockSource source = ClockSource::kFileTime;
};

/// How its last file ends, by its container.
enum class FileEnd {
  kClosed,  // as its writer closes one
  kOpen,    // without what is written last: not closed, or written to where nobody can go back
  kCut,     // inside of something
};

/// How far a recording could be read.
enum class ReadState { kWhole, kPartly };

/// One recording: a file, or files that follow each other.
struct Recording {
  std::string name;       // as it was given
  std::string container;  // libavformat's name for the format
  std::string read_from;  // "index" (sample tables), or "packets"
  std::int64_t segments = 1;
  std::int64_t bytes = 0;  // of all files
  double length_s = 0;     // from the first time to the end of the track that ends last
  ReadState state = ReadState::kWhole;
  FileEnd ends = FileEnd::kClosed;
  std::vector<std::string> remarks;     // what is damaged, unfinished or not looked at
  std::vector<WallClockStart> started;  // the surest first
  std::vector<TrackTimes> tracks;
  std::vector<AvDrift> drifts;
};

}  // namespace probes
