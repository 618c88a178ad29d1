// SPDX-License-Identifier: Apache-2.0
//
// Times of an FLV recording from the heads of its tags (Video File Format Specification 10.1, annex
// E). Only what every live writer makes is read here, H.264 with AAC or MP3, whole to its end; what
// is strange in any way is libavformat's, which takes every packet into memory of its own.

#pragma once

#include <stop_token>

#include "base/media/ffmpeg.h"
#include "probes/data/recording.h"
#include "probes/recording/bytes/byte_source.h"
#include "probes/recording/containers/packets.h"
#include "probes/recording/times/sums.h"

namespace probes {

/// All packets into the sums, after BeginFile. False where something is strange: what the sums hold
/// then is void. `input` was opened from the same file.
bool TakeFlvTags(ByteSource& source, const AVFormatContext& input, RecordingSums& sums,
                 const std::stop_token& stop, const ReadProgress& progress, Recording& recording);

}  // namespace probes
