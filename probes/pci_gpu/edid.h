// SPDX-License-Identifier: Apache-2.0
//
// What a display tells of itself: VESA Enhanced EDID Standard, release A.

#pragma once

#include <string>
#include <string_view>

#include "base/reading.h"

namespace probes {

struct EdidFacts {
  base::Reading<std::string> name;
  base::Reading<std::string> raster;  // of the preferred timing, "3840x2160", "1920x1080i"
  base::Reading<double> refresh_hz;   // of it; of interlaced timings, fields a second
};

/// Of the first block; extensions are not read. Any bytes at all are taken.
EdidFacts ParseEdid(std::string_view bytes);

/// The first block without the display's serial numbers, texts that a maker may fill with
/// anything, the week it was made in, and extensions; its checksum is right again. Empty for
/// what is no EDID.
std::string EdidWithoutSerials(std::string_view bytes);

}  // namespace probes
