// SPDX-License-Identifier: Apache-2.0
//
// A pipe whose ends are closed by their owner's end, and by the start of another program.

#pragma once

#include "base/system/descriptor.h"

namespace base {

struct Pipe {
  Descriptor read_end;
  Descriptor write_end;

  /// False with errno set where the system gives none.
  bool Open();
};

}  // namespace base
