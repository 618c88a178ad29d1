// SPDX-License-Identifier: Apache-2.0
//
// Which container carries which codec, and where each may go.

#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace profiles {

/// Containers for files ("mkv", "mp4", "mov", "mpegts") or for streams ("flv", "mpegts").
std::vector<std::string> ContainerNames(bool stream);

/// Codecs that a container carries and players take; empty for an unknown container.
std::vector<std::string> CodecsIn(std::string_view container);

/// All codecs that outputs may ask for.
std::vector<std::string> CodecNames();

/// URL schemes that carry a stream container ("rtmp" for flv ...), without "loopback".
std::vector<std::string> SchemesFor(std::string_view container);

}  // namespace profiles
