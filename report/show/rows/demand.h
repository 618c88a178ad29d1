// SPDX-License-Identifier: Apache-2.0
//
// What a production needs of a PC, in words: sums, nothing measured.

#pragma once

#include "profiles/demand/demand.h"
#include "profiles/profile.h"
#include "report/show/blocks.h"

namespace report {

/// Each source, each output, then all of them together.
show::Sheet DemandSheet(const profiles::Profile& profile, const profiles::Demand& demand);

/// The same as an answer by itself, with the show before it and its cables after it.
show::Sheet DemandAnswer(const profiles::Profile& profile, const profiles::Demand& demand);

}  // namespace report
