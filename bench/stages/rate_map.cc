// SPDX-License-Identifier: Apache-2.0

#include "bench/stages/rate_map.h"

extern "C" {
#include <libavutil/mathematics.h>
}

namespace bench {
namespace {

std::int64_t FirstAtOrAfter(std::int64_t input_index, const base::Rational& in,
                            const base::Rational& out) {
  return av_rescale_rnd(input_index, out.numerator() * in.denominator(),
                        out.denominator() * in.numerator(), AV_ROUND_UP);
}

}  // namespace

FrameRange OutputFrames(std::int64_t input_index, const base::Rational& in,
                        const base::Rational& out) {
  return {FirstAtOrAfter(input_index, in, out), FirstAtOrAfter(input_index + 1, in, out)};
}

}  // namespace bench
