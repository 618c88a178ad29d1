// SPDX-License-Identifier: Apache-2.0
//
// How much sound a block of AAC holds.

#pragma once

#include "probes/bit_reader.h"

namespace probes {

/// Seconds, by the core rate and the samples of a block in an AudioSpecificConfig (ISO/IEC 14496-3,
/// 1.6.2.1 and 4.4.1); SBR makes both twice as many, which is the same length. 0: not told.
double AacBlockSeconds(BitReader config);

}  // namespace probes
