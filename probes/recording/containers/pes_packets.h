// SPDX-License-Identifier: Apache-2.0
//
// Times of an MPEG transport stream from the heads of its PES packets (ISO/IEC 13818-1, 2.4.3.2 and
// 2.4.3.6). Only a stream without a fault is read here, with AAC as its sound; what is strange in
// any way is libavformat's, which puts every packet together.

#pragma once

#include <stop_token>

#include "base/media/ffmpeg.h"
#include "probes/data/recording.h"
#include "probes/recording/bytes/byte_source.h"
#include "probes/recording/containers/packets.h"
#include "probes/recording/times/sums.h"

namespace probes {

/// All packets into the sums, after BeginFile. False where something is strange: what the sums hold
/// then is void. `input` was opened from the same file, and IsWholeInPackets holds for it.
bool TakePesPackets(ByteSource& source, const AVFormatContext& input, RecordingSums& sums,
                    const std::stop_token& stop, const ReadProgress& progress,
                    Recording& recording);

}  // namespace probes
