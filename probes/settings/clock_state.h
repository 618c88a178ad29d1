// SPDX-License-Identifier: Apache-2.0
//
// Whether the running system's clock follows a time source.

#pragma once

#include "base/reading.h"

namespace probes {

/// Asks the kernel of the PC that this runs on (adjtimex, STA_UNSYNC).
base::Reading<bool> AskClockSynchronised();

}  // namespace probes
