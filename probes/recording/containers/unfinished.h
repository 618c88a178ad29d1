// SPDX-License-Identifier: Apache-2.0
//
// Whether a file was closed by its writer and is all there, by what its container says of itself.

#pragma once

#include <optional>
#include <string>

#include "probes/data/recording.h"
#include "probes/recording/bytes/byte_source.h"

namespace probes {

struct Unfinished {
  FileEnd end = FileEnd::kClosed;
  std::string text;  // what is wrong with the file as a whole
};

/// What is said of a file that ends where its last packet does not.
inline constexpr char kEndsInsidePacket[] = "ends inside a packet: it was cut short";

/// Nothing where it says that it is whole, or is of another kind than AVI, ASF, NUT, Ogg and
/// MPEG-TS.
std::optional<Unfinished> FindUnfinished(ByteSource& source);

}  // namespace probes
