// SPDX-License-Identifier: Apache-2.0
//
// The copies that a run cannot do without, by themselves: what the engine's overhead is held
// against.

#pragma once

#include "profiles/profile.h"

namespace bench {

/// Seconds that the capture copies and conversions, the program's drawing and
/// the multiview's drawing take for `seconds` of production, one after the
/// other on as many threads as the engine has chains, with nothing between.
double SecondsForCopies(const profiles::Profile& profile, double seconds);

}  // namespace bench
