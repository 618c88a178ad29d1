// SPDX-License-Identifier: Apache-2.0
//
// Times of an MP4 or MOV recording from its own tables, in memory that does not grow with its
// length (libavformat would keep some 25 bytes for every packet).

#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <stop_token>
#include <vector>

#include "base/result.h"
#include "probes/recording/bytes/byte_source.h"
#include "probes/recording/iso/fragments.h"
#include "probes/recording/iso/movie.h"
#include "probes/recording/times/sums.h"

namespace probes {

/// Pictures and sound of the movie, in its order; others are of kind kOther.
std::vector<TrackFacts> FactsOf(const IsoMovie& movie);

/// The first time of the file by its own clock.
std::optional<double> StartOf(ByteSource& source, const IsoMovie& movie,
                              const std::stop_token& stop);

/// All samples into the sums, after BeginFile. `places`: of fragments, kept from file to file.
void TakeIndex(ByteSource& source, const IsoMovie& movie, std::vector<IsoTrackPlace>& places,
               RecordingSums& sums, const std::stop_token& stop, Recording& recording);

}  // namespace probes
