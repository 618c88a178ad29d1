// SPDX-License-Identifier: Apache-2.0

#include "probes/settings/settings.h"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>

#include "base/text.h"
#include "probes/cpu/idle.h"
#include "probes/settings/clock_keepers.h"
#include "probes/settings/clock_state.h"
#include "probes/settings/file_watchers.h"
#include "probes/settings/setting_texts.h"
#include "probes/settings/sleep_settings.h"
#include "probes/settings/unit_files.h"
#include "probes/settings/work_timers.h"
#include "probes/storage/swap_areas.h"

namespace probes {
namespace {

using base::MachineRoot;
using base::Reading;

Reading<std::string> ReadOs(const MachineRoot& root) {
  for (const char* file : {"/etc/os-release", "/usr/lib/os-release"}) {
    const auto text = root.Read(file);
    if (!text) {
      continue;
    }
    const auto name = ParsePrettyName(*text);
    return name ? Reading<std::string>(*name)
                : Reading<std::string>::Unknown(std::string(file) + " names no system");
  }
  return Reading<std::string>::Unknown("no os-release file");
}

Reading<std::string> ReadKernel(const MachineRoot& root) {
  const auto release = root.ReadTrimmed("/proc/sys/kernel/osrelease");
  if (release && !release->empty()) {
    return base::Printable(*release, 80);
  }
  const auto version = root.Read("/proc/version");
  const auto words = version ? base::SplitWords(*version) : std::vector<std::string_view>{};
  if (words.size() >= 3 && words[0] == "Linux" && words[1] == "version") {
    return base::Printable(words[2], 80);
  }
  return Reading<std::string>::Unknown("/proc tells no kernel release");
}

/// What /sys/class/power_supply shows, without the batteries of mice and the like.
struct PowerSupplies {
  bool battery = false;
  std::optional<bool> discharging;  // of some battery; nothing where none tells
  std::optional<bool> mains_online;
};

PowerSupplies LookAtSupplies(const MachineRoot& root, const std::vector<std::string>& names) {
  PowerSupplies found;
  for (const std::string& name : names) {
    const std::string folder = "/sys/class/power_supply/" + name + "/";
    const std::string type = root.ReadTrimmed(folder + "type").value_or("");
    if (root.ReadTrimmed(folder + "scope").value_or("") == "Device") {
      continue;
    }
    if (type == "Battery" && root.ReadInt(folder + "present").value_or(1) != 0) {
      found.battery = true;
      if (const auto status = root.ReadTrimmed(folder + "status"); status && *status != "Unknown") {
        found.discharging = found.discharging.value_or(false) || *status == "Discharging";
      }
    } else if (type == "Mains" || type.starts_with("USB")) {
      if (const auto online = root.ReadInt(folder + "online")) {
        found.mains_online = found.mains_online.value_or(false) || *online != 0;
      }
    }
  }
  return found;
}

void FillPower(const MachineRoot& root, SettingsInventory& settings) {
  const auto names = root.List("/sys/class/power_supply");
  if (!names) {
    settings.on_mains = settings.has_battery = Reading<bool>(base::Result<bool>(names.error()));
    return;
  }
  const PowerSupplies supplies = LookAtSupplies(root, *names);
  settings.has_battery = supplies.battery;
  if (supplies.mains_online) {
    settings.on_mains = *supplies.mains_online;
  } else if (supplies.discharging) {
    settings.on_mains = !*supplies.discharging;
  } else {
    settings.on_mains = Reading<bool>::Unknown("no power supply tells");
  }
}

Reading<std::string> ReadPowerProfile(const MachineRoot& root) {
  const auto profile = root.ReadTrimmed("/sys/firmware/acpi/platform_profile");
  return profile ? Reading<std::string>(base::Printable(*profile, 40))
                 : Reading<std::string>::Unknown("the firmware offers no power profiles");
}

Reading<std::string> ReadPcieSaving(const MachineRoot& root) {
  const auto text = root.Read("/sys/module/pcie_aspm/parameters/policy");
  if (!text) {
    return Reading<std::string>::Unknown("the kernel shows no PCIe power saving policy");
  }
  const auto policy = ParseBracketed(*text);
  return policy ? Reading<std::string>(*policy)
                : Reading<std::string>::Unknown("the policy file marks no choice");
}

/// The choice that a tuning daemon keeps over a restart.
ConfiguredChoice ReadTuningProfile(const MachineRoot& root) {
  static const std::string tuned = "/etc/tuned/active_profile";
  const auto active = root.ReadTrimmed(tuned);
  if (active && !active->empty()) {
    return {base::Printable(*active, 60), tuned};
  }
  static const std::string profiles_daemon = "/var/lib/power-profiles-daemon/state.ini";
  for (const auto& [key, value] : ParseSection(root.Read(profiles_daemon).value_or(""), "State")) {
    if (key == "Profile" && !value.empty()) {
      return {base::Printable(value, 60), profiles_daemon};
    }
  }
  return {Reading<std::string>::Unknown("no daemon's choice is stored"), ""};
}

Reading<int> ReadSwappiness(const MachineRoot& root) {
  const auto value = root.ReadInt("/proc/sys/vm/swappiness");
  if (!value) {
    return Reading<int>(base::Result<int>(value.error()));
  }
  return static_cast<int>(std::clamp<std::int64_t>(*value, 0, 200));
}

}  // namespace

SettingsInventory ReadSettings(const MachineRoot& root) {
  SettingsInventory settings;
  settings.os = ReadOs(root);
  settings.kernel = ReadKernel(root);
  FillPower(root, settings);
  settings.power_profile = ReadPowerProfile(root);
  settings.pcie_power_saving = ReadPcieSaving(root);
  settings.clock_synchronised =
      root.live() ? AskClockSynchronised()
                  : Reading<bool>::Unknown("a captured machine's clock cannot be asked");
  settings.file_watchers = ReadFileWatchers(root);
  settings.tuning_profile = ReadTuningProfile(root);
  ReadSleepSettings(root, settings);
  settings.swap_areas = ReadSwapAreas(root);
  settings.swappiness = ReadSwappiness(root);
  settings.clock_keepers = ReadClockKeepers(root);
  settings.work_timers = ReadWorkTimers(root);
  settings.idle_states = ReadIdleStates(root);
  return settings;
}

}  // namespace probes
