// SPDX-License-Identifier: Apache-2.0
//
// Asks this PC's resolver for the number behind a host's name.

#pragma once

#include <stop_token>
#include <string>

#include "probes/data/storage_network.h"

namespace probes {

/// The first number that the resolver gives, within a few seconds and before a
/// stop. Opens the network: only for commands that may.
ResolvedHost ResolveHost(const std::string& host, const std::stop_token& stop = {});

}  // namespace probes
