// SPDX-License-Identifier: Apache-2.0
//
// How much sound blocks of AAC hold.

#pragma once

#include <cstdint>
#include <span>

#include "probes/recording/codecs/bit_reader.h"

namespace probes {

/// Seconds, by the core rate and the samples of a block in the bits of an AudioSpecificConfig
/// (ISO/IEC 14496-3, 1.6.2.1 and 4.4.1); SBR makes both twice as many, which is the same length. 0:
/// not told.
double AacBlockSeconds(BitReader bits);

/// Blocks in these bytes, by their headers (ISO/IEC 14496-3, 1.A.2.2: ADTS); 0 where they are not
/// whole ones from the first byte to the last.
std::int64_t AdtsBlocks(std::span<const std::uint8_t> bytes);

}  // namespace probes
