// SPDX-License-Identifier: Apache-2.0
//
// What of a machine's mounts may leave it.

#pragma once

#include <string>
#include <string_view>

#include "probes/captured/private_names.h"

namespace probes {

/// Counts of what was taken out, for telling people.
struct MountsLeftOut {
  std::size_t network_shares = 0;
  std::size_t sources = 0;  // of other filesystems
};

/// /proc/self/mountinfo with sources only where they are a device or a bare word, options only of
/// kinds that are known, and names cleaned. Lines that are none are left out.
std::string CleanMountInfo(std::string_view text, PrivateNames& names, MountsLeftOut& left_out);

/// /proc/swaps with the paths cleaned.
std::string CleanSwaps(std::string_view text, PrivateNames& names);

}  // namespace probes
