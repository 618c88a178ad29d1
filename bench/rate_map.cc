#include "bench/rate_map.h"

namespace bench {
namespace {

std::int64_t FirstAtOrAfter(std::int64_t input_index, const base::Rational& in,
                            const base::Rational& out) {
  const auto numerator =
      static_cast<__int128>(input_index) * out.numerator() * in.denominator();
  const auto denominator = static_cast<__int128>(out.denominator()) * in.numerator();
  return static_cast<std::int64_t>((numerator + denominator - 1) / denominator);
}

}  // namespace

FrameRange OutputFrames(std::int64_t input_index, const base::Rational& in,
                        const base::Rational& out) {
  return {FirstAtOrAfter(input_index, in, out), FirstAtOrAfter(input_index + 1, in, out)};
}

}  // namespace bench
