// SPDX-License-Identifier: Apache-2.0
//
// A pipe whose ends are closed by their owner's end, and by the start of another program.

#pragma once

#include <fcntl.h>
#include <unistd.h>

#include <array>

#include "base/descriptor.h"

namespace base {

struct Pipe {
  Descriptor read_end;
  Descriptor write_end;

  /// False with errno set where the system gives none.
  bool Open() {
    std::array<int, 2> ends{};
    if (pipe2(ends.data(), O_CLOEXEC) != 0) {
      return false;
    }
    read_end = Descriptor(ends[0]);
    write_end = Descriptor(ends[1]);
    return true;
  }
};

}  // namespace base
