// SPDX-License-Identifier: Apache-2.0
//
// The user's own clip, decoded once before a rehearsal.

#pragma once

#include <filesystem>
#include <stop_token>
#include <vector>

#include "base/media/ffmpeg.h"
#include "base/result.h"

namespace bench {

/// The first `frames` pictures of the first video track, as decoded; fewer
/// when the clip is shorter, never none. kInvalid names the file and why; kIo when `stop` was
/// requested before they were read.
base::Result<std::vector<base::FramePtr>> ReadClip(const std::filesystem::path& clip, int frames,
                                                   const std::stop_token& stop);

}  // namespace bench
