// SPDX-License-Identifier: Apache-2.0
//
// The picture rate that a stream of H.264 states of itself.

#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "base/rational.h"

namespace probes {

/// Frames a second by the timing in the first sequence parameter set (ITU-T H.264, 7.3.2.1.1 and
/// E.2.1: two ticks a frame). `config`: an avcC box's content, or NAL units behind start codes.
/// Nothing where it states none, or one that is no rate of pictures.
std::optional<base::Rational> H264StatedRate(std::span<const std::uint8_t> config);

}  // namespace probes
