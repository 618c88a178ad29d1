// SPDX-License-Identifier: Apache-2.0
//
// The samples of a fragmented MP4 file (moof boxes, ISO/IEC 14496-12, 8.8), one fragment at a time.

#pragma once

#include <cstdint>
#include <functional>
#include <stop_token>
#include <vector>

#include "probes/recording/bytes/byte_source.h"
#include "probes/recording/iso/movie.h"
#include "probes/recording/iso/samples.h"

namespace probes {

struct IsoFragmentEnd {
  std::int64_t fragments = 0;
  std::int64_t past_end = 0;  // samples that lie past the file's end
  bool cut = false;           // the file ends inside a box
  std::int64_t damaged_places = 0;
  std::int64_t damaged_at = -1;  // the first of them; after each it goes on at the next fragment
  std::int64_t other_at = -1;    // where another recording begins behind this one
  bool stopped = false;
};

/// Where the samples of a track stand between fragments.
struct IsoTrackPlace {
  std::int64_t decoded = 0;
  std::int64_t usual = 0;  // duration of a sample
};

/// `take` gets the number of the track in `movie` and each of its samples, in the file's order.
/// `places` has one entry per track and goes on in the next file.
IsoFragmentEnd WalkFragments(
    ByteSource& source, const IsoMovie& movie, std::vector<IsoTrackPlace>& places,
    const std::stop_token& stop,
    const std::function<void(std::size_t track, const IsoSample& sample)>& take);

}  // namespace probes
