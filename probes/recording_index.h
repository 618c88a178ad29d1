// SPDX-License-Identifier: Apache-2.0
//
// Times of an MP4, MOV or AVI recording from its own tables and chunks, in memory that does not
// grow with its length (libavformat would keep some 25 bytes for every packet).

#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <stop_token>
#include <vector>

#include "base/result.h"
#include "probes/avi_walk.h"
#include "probes/byte_source.h"
#include "probes/iso_fragments.h"
#include "probes/iso_movie.h"
#include "probes/recording_sums.h"

namespace probes {

/// Pictures and sound of the movie, in its order; others are of kind kOther.
std::vector<TrackFacts> FactsOf(const IsoMovie& movie);

/// The first time of the file by its own clock.
std::optional<double> StartOf(ByteSource& source, const IsoMovie& movie,
                              const std::stop_token& stop);

std::vector<TrackFacts> FactsOf(const AviHeader& header);

/// All chunks of an AVI file into the sums, after BeginFile.
void TakeChunks(ByteSource& source, const AviHeader& header, RecordingSums& sums,
                const std::stop_token& stop, Recording& recording);

/// All samples into the sums, after BeginFile. `places`: of fragments, kept from file to file.
void TakeIndex(ByteSource& source, const IsoMovie& movie, std::vector<IsoTrackPlace>& places,
               RecordingSums& sums, const std::stop_token& stop, Recording& recording);

}  // namespace probes
