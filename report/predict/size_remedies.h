// SPDX-License-Identifier: Apache-2.0
//
// What to change on this PC, or of the production, so that it fits.

#pragma once

#include <vector>

#include "report/predict/size_resources.h"

namespace report {

/// At most this many are told.
inline constexpr std::size_t kMostRemedies = 8;

/// Tried one by one, then, where none alone suffices, two at a time. Those that suffice come first,
/// from the least asked of people to the most; then those after which it fits without its margins;
/// then what helps most.
std::vector<Remedy> FindRemedies(const Sizer& sizer, const profiles::Profile& changed,
                                 const SizedProduction& sized);

}  // namespace report
