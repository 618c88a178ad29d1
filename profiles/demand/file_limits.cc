// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/file_limits.h"

namespace profiles {

double SecondsUntilFull(double bytes, double bytes_per_second) {
  return bytes_per_second > 0 ? bytes / bytes_per_second : 0;
}

}  // namespace profiles
