// SPDX-License-Identifier: Apache-2.0

#include "base/system/end_with_parent.h"

#include <signal.h>
#include <sys/prctl.h>

namespace base {

void EndWithParent() {
  prctl(PR_SET_PDEATHSIG, SIGKILL);
}

}  // namespace base
