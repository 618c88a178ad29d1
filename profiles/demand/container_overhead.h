// SPDX-License-Identifier: Apache-2.0
//
// What containers add to the encoded media.

#pragma once

#include <optional>
#include <string_view>

#include "base/rational.h"
#include "profiles/profile.h"

namespace profiles {

/// The packets that a container wraps: pictures, and AAC frames beside them.
struct PacketFlow {
  base::Rational picture_rate{30};
  double picture_bytes_per_second = 0;
  std::optional<Audio> audio;
};

/// Bytes a second for headers, tables, padding. Derived from the formats as
/// FFmpeg's muxers write them, within about a tenth (checked by muxing);
/// 0 for an unknown container.
double ContainerBytesPerSecond(std::string_view container, const PacketFlow& flow);

/// AAC frames a second: 1024 samples each (ISO/IEC 14496-3). 0 without audio.
double AudioPacketsPerSecond(const PacketFlow& flow);

}  // namespace profiles
