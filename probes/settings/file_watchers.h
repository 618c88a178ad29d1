// SPDX-License-Identifier: Apache-2.0
//
// Processes that are asked before, or told after, others open files.

#pragma once

#include <string_view>
#include <vector>

#include "base/reading.h"
#include "base/system/machine_root.h"
#include "probes/data/settings.h"

namespace probes {

/// Holders of a fanotify group, from /proc/PID/fdinfo. Unknown when none was
/// found and some processes could not be looked into, or when a captured
/// machine has no fdinfo at all.
base::Reading<std::vector<FileWatcher>> ReadFileWatchers(const base::MachineRoot& root);

/// Whether the text of one fdinfo file is that of a fanotify group.
bool IsFanotifyGroup(std::string_view fdinfo_text);

}  // namespace probes
