// SPDX-License-Identifier: Apache-2.0
//
// One packet on its way from an encoder to a file or socket.

#pragma once

#include <cstdint>

#include "base/media/ffmpeg.h"

namespace bench {

struct WriteItem {
  base::PacketPtr packet;  // a picture's pts counts the output's frames
  bool audio = false;
  bool at_end = false;             // came out while the encoder was emptied
  std::int64_t newest_due_ns = 0;  // due moment of the newest picture the encoder had taken
};

}  // namespace bench
