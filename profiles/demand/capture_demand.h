// SPDX-License-Identifier: Apache-2.0
//
// What a capture device hands over for one source.

#pragma once

#include <cstdint>

#include "profiles/profile.h"

namespace profiles {

struct CapturePayload {
  std::int64_t frame_bytes = 0;
  double bytes_per_second = 0;
  bool assumed = false;  // compressed capture: by a usual ratio, see pixel_formats.cc
};

/// Payload only, without any bus's overhead; all zero for network sources.
CapturePayload CapturePayloadOf(const Source& source);

}  // namespace profiles
