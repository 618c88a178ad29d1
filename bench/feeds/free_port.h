// SPDX-License-Identifier: Apache-2.0
//
// A port of the loopback interface that nobody listens on.

#pragma once

#include "base/result.h"

namespace bench {

enum class PortKind { kTcp, kUdp };

/// Free at the moment of asking.
base::Result<int> FreeLoopbackPort(PortKind kind);

}  // namespace bench
