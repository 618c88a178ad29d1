// SPDX-License-Identifier: Apache-2.0
//
// Settings of the operating system and guests on the PC that bite a live production.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/reading.h"

namespace probes {

/// A process that watches files as they are opened (a fanotify mark).
struct FileWatcher {
  std::string process;
  int pid = 0;
};

/// What a configuration file chooses. `file` is empty where none says anything
/// and the value is what the program documents for that case.
struct ConfiguredChoice {
  base::Reading<std::string> value;
  std::string file;
};

/// A place that memory is swapped out to.
struct SwapArea {
  std::string name;  // "/dev/sda3", "/swapfile"
  std::string kind;  // "partition", "file"
  std::int64_t size_bytes = 0;
  std::int64_t used_bytes = 0;
  std::vector<std::string> disks;  // kernel's names of the disks below; empty: none, or not told
};

/// A timer that is switched on and starts work that a show does not want beside it.
struct WorkTimer {
  std::string unit;         // "apt-daily-upgrade.timer"
  std::string work;         // "updates", "disk upkeep", "file index"
  std::string when;         // its OnCalendar= and the like as written; empty: not told
  std::string delay;        // RandomizedDelaySec= as written
  bool catches_up = false;  // Persistent=: what was missed starts soon after the PC does
  bool idle = false;        // it starts, and `setting` leaves it nothing to do
  std::string setting;      // what decides whether it works, with its file; may be empty
};

/// A program that keeps the clock right, and the file that shows it.
struct ClockKeeper {
  std::string name;  // unit: "systemd-timesyncd", "chrony"
  std::string file;
  bool running = false;  // its run-time file is there, not only its setting
};

/// A state that an idle CPU may fall into.
struct CpuIdleState {
  std::string name;
  int exit_latency_us = 0;
  bool disabled = false;
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

  ConfiguredChoice tuning_profile;                       // of a daemon that sets power knobs
  base::Reading<std::vector<std::string>> sleep_states;  // that the kernel offers: "mem", "disk"
  ConfiguredChoice sleep_target;                         // "masked" or "allowed"
  ConfiguredChoice idle_action;                          // of the session manager: "suspend" ...
  ConfiguredChoice lid_action;
  base::Reading<bool> has_lid;
  base::Reading<std::vector<SwapArea>> swap_areas;
  base::Reading<int> swappiness;
  base::Reading<std::vector<ClockKeeper>> clock_keepers;
  base::Reading<std::vector<WorkTimer>> work_timers;
  base::Reading<std::vector<CpuIdleState>> idle_states;  // of the first CPU, shallow first
};

}  // namespace probes
