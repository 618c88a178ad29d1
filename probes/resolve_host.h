// SPDX-License-Identifier: Apache-2.0
//
// Asks this PC's resolver for the number behind a host's name.

#pragma once

#include <string>

#include "probes/data/storage_network.h"

namespace probes {

/// The first number that the resolver gives, within a few seconds. Opens the
/// network: only for commands that may.
ResolvedHost ResolveHost(const std::string& host);

}  // namespace probes
