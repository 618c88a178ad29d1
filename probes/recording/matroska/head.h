// SPDX-License-Identifier: Apache-2.0
//
// The tracks of a Matroska or WebM file, and where its clusters begin (RFC 9559).

#pragma once

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "base/result.h"
#include "probes/recording/bytes/forward_bytes.h"

namespace probes {

struct MatroskaTrack {
  std::uint64_t number = 0;  // by which blocks name it
  std::uint64_t type = 0;    // matroska::TrackType, or another
  std::string codec;
  std::int64_t frame_ns = 0;  // DefaultDuration; 0: not told
  std::int64_t delay_ns = 0;  // CodecDelay
  bool plain = true;          // contents as the codec made them, times in the segment's ticks

  bool operator==(const MatroskaTrack&) const = default;
};

struct MatroskaHead {
  static constexpr std::int64_t kOpen = std::numeric_limits<std::int64_t>::max();

  std::int64_t tick_ns = 1'000'000;
  std::vector<MatroskaTrack> tracks;
  std::int64_t segment_end = kOpen;
  std::int64_t content_at = 0;  // of the first cluster, or the file's end
};

/// From `at`, where a document begins. kUnsupported: no such document, a form that RFC 9559 does
/// not know, or tracks that come after the first cluster.
base::Result<MatroskaHead> ReadMatroskaHead(ForwardBytes& bytes, std::int64_t at);

}  // namespace probes
