// SPDX-License-Identifier: Apache-2.0
//
// Predicts how many more sources of each kind fit, and what runs out first.

#pragma once

#include <optional>

#include "report/data/document.h"

namespace report {

/// At most this many are predicted and searched.
inline constexpr int kMostAddedSources = 16;

/// Pure: from stored evidence alone. Nothing when no cost of the production
/// was measured, or the PC's CPUs are not known.
std::optional<Capacity> PredictCapacity(const Evidence& evidence);

/// With how many sources more, like the commonest ones, a run at full speed would tell most of
/// where the PC is full: the number that is predicted, then one more. Nothing where both were
/// measured.
std::optional<int> MoreToMeasure(const Evidence& evidence);

/// The room of one kind of source, or of a source that is not in the profile
/// yet once it has been put there.
const SourceRoom* RoomFor(const Capacity& capacity, const std::string& like);

/// "2 more (1 to 3)", "none", "16 or more".
std::string RoomText(const SourceRoom& room);

}  // namespace report
