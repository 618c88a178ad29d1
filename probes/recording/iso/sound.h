// SPDX-License-Identifier: Apache-2.0
//
// How much sound a sample of an MP4 or MOV file carries, by its codec and not by the duration that
// its writer gave it: that is where a clock that runs apart shows.

#pragma once

#include <cstdint>

#include "probes/recording/iso/movie.h"

namespace probes {

/// Rate, channels and block of `track` from a sound sample entry (ISO/IEC 14496-12, 12.2;
/// QuickTime's versions 1 and 2).
void ReadSoundEntry(ByteWindow& bytes, const IsoBox& entry, IsoTrack& track);

/// Seconds of sound in `sample_bytes` of PCM, or in one block of another codec; 0 where the codec
/// does not tell. `usual_ticks`: the commonest duration, which chooses among the lengths that a
/// codec allows.
double SoundInBlock(const IsoTrack& track, std::int64_t sample_bytes, std::int64_t usual_ticks);

}  // namespace probes
