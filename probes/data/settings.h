// SPDX-License-Identifier: Apache-2.0
//
// Settings of the operating system and guests on the PC that bite a live production.

#pragma once

#include <string>
#include <vector>

#include "base/reading.h"

namespace probes {

/// A process that watches files as they are opened (a fanotify mark).
struct FileWatcher {
  std::string process;
  int pid = 0;
};

struct SettingsInventory {
  base::Reading<std::string> os;      // "Debian GNU/Linux 12 (bookworm)"
  base::Reading<std::string> kernel;  // "6.1.0-18-amd64"
  base::Reading<bool> on_mains;       // false: running from its battery
  base::Reading<bool> has_battery;
  base::Reading<std::string> power_profile;      // ACPI platform profile
  base::Reading<std::string> pcie_power_saving;  // ASPM policy
  base::Reading<bool> clock_synchronised;
  base::Reading<std::vector<FileWatcher>> file_watchers;
};

}  // namespace probes
