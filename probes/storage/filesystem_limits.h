// SPDX-License-Identifier: Apache-2.0
//
// The largest file that a filesystem can hold.

#pragma once

#include <cstdint>
#include <string_view>

#include "base/reading.h"

namespace probes {

/// `filesystem` as mountinfo names it; `block_bytes` is statvfs's f_bsize,
/// needed where the limit counts in blocks. Limits beyond what a Linux file
/// offset can say (2^63 - 1) are given as that.
base::Reading<std::int64_t> LargestFileBytes(std::string_view filesystem,
                                             const base::Reading<std::int64_t>& block_bytes);

}  // namespace probes
