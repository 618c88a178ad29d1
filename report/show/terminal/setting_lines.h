// SPDX-License-Identifier: Apache-2.0
//
// Settings that are lists or choices, in words that every writer shares.

#pragma once

#include <string>
#include <vector>

#include "base/reading.h"
#include "probes/data/settings.h"

namespace report {

struct SettingLine {
  std::string name;  // at most 13 characters
  base::Reading<std::string> text;
};

/// Sleep, swap, clock keepers, timers, idle states.
std::vector<SettingLine> SettingLines(const probes::SettingsInventory& settings);

}  // namespace report
