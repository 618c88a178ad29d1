// SPDX-License-Identifier: Apache-2.0
//
// How long a recording grows until a limit stops it.

#pragma once

namespace profiles {

/// Seconds that `bytes` (free space, or the filesystem's largest file) hold at
/// `bytes_per_second`; 0 when nothing is written.
double SecondsUntilFull(double bytes, double bytes_per_second);

}  // namespace profiles
