// SPDX-License-Identifier: Apache-2.0
//
// Ports for the hubs of an invented PC.

#pragma once

#include <string>

#include "tests/support/evidence_builder.h"

namespace report::testing {

/// Each hub's ports 1 to `ports`; the ports of buses 1 and 2 share sockets, and those of 3 and 4.
void GivePorts(Evidence& evidence);

/// The port, which must be there.
probes::UsbPort& PortAt(Evidence& evidence, const std::string& hub, int number);

}  // namespace report::testing
