// SPDX-License-Identifier: Apache-2.0
//
// The chunks of an AVI file in their order. AVI has no timestamps: a picture's time is its number,
// and one that the writer left out is a chunk without bytes.

#pragma once

#include <cstdint>
#include <functional>
#include <stop_token>
#include <vector>

#include "base/result.h"
#include "probes/byte_source.h"
#include "probes/data/recording.h"

namespace probes {

struct AviTrack {
  TrackKind kind = TrackKind::kOther;
  std::uint32_t coding = 0;  // four letters of pictures, or the number of a form of sound
  int width = 0;
  int height = 0;
  int channels = 0;
  int samples_per_second = 0;
  std::uint32_t scale = 0;  // scale / rate: seconds of one unit
  std::uint32_t rate = 0;
  std::uint32_t start = 0;       // units before the first
  std::uint32_t unit_bytes = 0;  // of sound; 0: every chunk is one unit
};

struct AviHeader {
  std::vector<AviTrack> tracks;  // at most kMostTracks
  std::int64_t content_at = 0;   // where chunks of pictures and sound begin
};

bool LooksAvi(ByteWindow& bytes);

/// kUnsupported: no tracks before the content, or pictures and sound in one track.
base::Result<AviHeader> ReadAviHeader(ByteWindow& bytes);

struct AviChunk {
  std::size_t track = 0;
  std::int64_t at = 0;     // units from the track's beginning
  std::int64_t units = 1;  // that it holds
  std::int64_t bytes = 0;
};

struct AviEnd {
  bool cut = false;              // the file ends inside a chunk
  std::int64_t damaged_at = -1;  // first place where no chunk begins; the next one was looked for
  bool stopped = false;
};

AviEnd WalkAvi(ByteSource& source, const AviHeader& header, const std::stop_token& stop,
               const std::function<void(const AviChunk& chunk)>& take);

}  // namespace probes
