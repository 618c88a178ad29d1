// SPDX-License-Identifier: Apache-2.0
//
// Timers that start updates and upkeep, and when.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/reading.h"
#include "base/system/machine_root.h"
#include "probes/data/settings.h"

namespace probes {

/// Known timers that are switched on. Unknown on machines without service units.
base::Reading<std::vector<WorkTimer>> ReadWorkTimers(const base::MachineRoot& root);

/// The value of an APT::Periodic key in the text of a file of apt.conf(5), without
/// quotes; nothing when no line sets it.
std::optional<std::string> ParseAptPeriodic(std::string_view text, std::string_view key);

}  // namespace probes
