// SPDX-License-Identifier: Apache-2.0
//
// What pictures ask of an encoder at fixed quality: bits, and CPU time.

#pragma once

#include <vector>

#include "base/media/ffmpeg.h"
#include "base/rational.h"
#include "base/result.h"
#include "profiles/profile.h"

namespace bench {

/// Asked of libx264 at a constant quantiser: with the rate left free, bits tell
/// how hard pictures are, and they are the same on every PC.
struct FixedQuality {
  int quantiser = 28;
  profiles::Effort effort = profiles::Effort::kLow;
  base::Rational rate{25};
  int pictures = 96;  // the given ones in a circle
};

struct PictureCost {
  double bits = 0;  // a picture, key frames included
  double bits_per_pixel = 0;
  double cpu_ms = 0;  // a picture, all threads of this process
};

/// `pictures` are yuv420p of one size. One thread encodes: threads change the bits.
base::Result<PictureCost> CostAtFixedQuality(const std::vector<base::FramePtr>& pictures,
                                             const FixedQuality& asked);

}  // namespace bench
