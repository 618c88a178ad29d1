// SPDX-License-Identifier: Apache-2.0
//
// What an effort means to each encoder, and which encoder makes which codec.

#pragma once

#include <string>
#include <utility>
#include <vector>

#include "profiles/profile.h"

namespace bench {

/// Name and value pairs for the encoder, for a live encode at constant rate.
/// x265 and SVT-AV1 start threads of their own for every CPU that they see,
/// a quota or not: they are told `threads` here; 0 leaves it to them.
std::vector<std::pair<std::string, std::string>> EncoderOptions(const std::string& encoder,
                                                                profiles::Effort effort,
                                                                int threads = 0);

/// FFmpeg's software encoder for a codec of the profile; empty when none is known.
std::string SoftwareEncoder(const std::string& codec);

/// The same encode in the ffmpeg program's words, for plans and comparisons:
/// "libx264 preset=superfast".
std::string EncoderText(const std::string& encoder, profiles::Effort effort);

}  // namespace bench
