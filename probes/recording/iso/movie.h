// SPDX-License-Identifier: Apache-2.0
//
// The tracks of an MP4 or MOV file and where their sample tables lie (ISO/IEC 14496-12).

#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/rational.h"
#include "base/result.h"
#include "probes/data/recording.h"
#include "probes/recording/iso/box.h"

namespace probes {

/// Entries of one table, each of the same width; never past the box that holds them.
struct IsoTable {
  std::int64_t at = 0;
  std::int64_t entries = 0;
};

struct IsoTrack {
  std::uint32_t id = 0;
  TrackKind kind = TrackKind::kOther;
  std::uint32_t coding = 0;  // four letters of its first sample entry
  int width = 0;
  int height = 0;
  int channels = 0;
  int samples_per_second = 0;
  std::optional<base::Rational> stated_rate;  // of pictures, by their codec's configuration
  int pcm_bytes = 0;                          // of one sample of all channels; 0: no PCM
  double block_s = 0;  // of sound in every sample, by its codec; 0: it does not tell
  std::uint32_t ticks_per_second = 0;
  std::int64_t shift_ticks = 0;    // that the first edit adds to every time
  std::int64_t lead_in_ticks = 0;  // before the first edit
  int edits = 0;                   // that show something
  IsoTable durations;              // stts: count, ticks
  IsoTable offsets;                // ctts: count, ticks (signed)
  IsoTable sizes;                  // stsz or stz2
  int size_bits = 32;
  std::uint32_t constant_size = 0;  // of every sample; then `sizes` has their number only
  IsoTable chunks;                  // stsc: first chunk, samples, description
  IsoTable places;                  // stco or co64
  int place_bytes = 4;
  std::uint32_t fragment_duration = 0;  // trex
  std::uint32_t fragment_size = 0;
};

struct IsoMovie {
  std::uint32_t ticks_per_second = 0;
  std::optional<double> created_unix_s;
  bool fragmented = false;
  std::vector<IsoTrack> tracks;  // at most kMostTracks
  std::int64_t tracks_left_out = 0;
  std::int64_t other_at = -1;  // where another recording begins behind this one
};

/// Whether a file begins as one of these does.
bool LooksIsoMedia(ByteWindow& bytes);

/// kNotPresent: there is no index (moov), as in a recording that was not finished. kUnsupported:
/// an index of another form (compressed, or without tracks).
base::Result<IsoMovie> ReadIsoMovie(ByteWindow& bytes);

}  // namespace probes
