// SPDX-License-Identifier: Apache-2.0
//
// Paths that leave a machine, the same wherever they are written: in names, links and tables.

#pragma once

#include <string>
#include <string_view>

#include "probes/captured/private_names.h"

namespace probes {

/// `path` without names of people, addresses and numbers of volumes. Folders that every system has
/// stay as they are, whatever people are called.
std::string CleanPath(std::string_view path, PrivateNames& names);

/// What a network link is called, as it may leave the machine.
std::string CleanLinkName(std::string_view link, PrivateNames& names);

}  // namespace probes
