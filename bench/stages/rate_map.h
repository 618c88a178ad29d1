// SPDX-License-Identifier: Apache-2.0
//
// Which frames of an output fall due with a frame of what it takes, when their rates differ.

#pragma once

#include <cstdint>

#include "base/rational.h"

namespace bench {

/// Half-open range of output frames.
struct FrameRange {
  std::int64_t first = 0;
  std::int64_t end = 0;
};

/// Input frame n covers the time from n/in to (n+1)/in; the output frames that
/// start in that time show it: none (the output is slower), one, or repeats.
FrameRange OutputFrames(std::int64_t input_index, const base::Rational& in,
                        const base::Rational& out);

}  // namespace bench
