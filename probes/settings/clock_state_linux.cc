// SPDX-License-Identifier: Apache-2.0

#include "probes/settings/clock_state.h"

#include <sys/timex.h>

namespace probes {

base::Reading<bool> AskClockSynchronised() {
  struct timex answer {};  // modes = 0: only asks
  if (adjtimex(&answer) == -1) {
    return base::Reading<bool>::Unknown("the kernel does not tell the clock's state");
  }
  return (answer.status & STA_UNSYNC) == 0;
}

}  // namespace probes
