// SPDX-License-Identifier: Apache-2.0
//
// Pictures of one ring painted by all CPUs at once.

#pragma once

#include <vector>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "bench/feeds/content.h"
#include "profiles/profile.h"

namespace bench {

/// Pictures `first` to `first + many - 1` of a ring of `count`, in the working format. `workers` 0:
/// as many as there are CPUs.
base::Result<std::vector<base::FramePtr>> PaintRing(const Painter& painter,
                                                    const profiles::Raster& raster, int first,
                                                    int many, int count, int workers = 0);

}  // namespace bench
