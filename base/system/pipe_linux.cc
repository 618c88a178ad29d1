// SPDX-License-Identifier: Apache-2.0

#include "base/system/pipe.h"

#include <fcntl.h>
#include <unistd.h>

#include <array>

namespace base {

bool Pipe::Open() {
  std::array<int, 2> ends{};
  if (pipe2(ends.data(), O_CLOEXEC) != 0) {
    return false;
  }
  read_end = Descriptor(ends[0]);
  write_end = Descriptor(ends[1]);
  return true;
}

}  // namespace base
