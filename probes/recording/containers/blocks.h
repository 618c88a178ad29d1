// SPDX-License-Identifier: Apache-2.0
//
// Times of a Matroska or WebM recording from the heads of its blocks. What its codecs are,
// libavformat has told; it would take every packet into memory of its own, which takes longer than
// a disk needs to bring it.

#pragma once

#include <stop_token>

#include "base/media/ffmpeg.h"
#include "probes/data/recording.h"
#include "probes/recording/bytes/byte_source.h"
#include "probes/recording/containers/packets.h"
#include "probes/recording/times/sums.h"

namespace probes {

/// All blocks into the sums, after BeginFile. False, and nothing done, where the file is of a form
/// that only libavformat reads. `input` was opened from the same file.
bool TakeBlocks(ByteSource& source, const AVFormatContext& input, RecordingSums& sums,
                const std::stop_token& stop, const ReadProgress& progress, Recording& recording);

}  // namespace probes
