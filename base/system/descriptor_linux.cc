// SPDX-License-Identifier: Apache-2.0

#include "base/system/descriptor.h"

#include <unistd.h>

namespace base {

void Descriptor::Close() {
  if (number_ >= 0) {
    close(std::exchange(number_, -1));
  }
}

}  // namespace base
