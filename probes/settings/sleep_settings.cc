// SPDX-License-Identifier: Apache-2.0

#include "probes/settings/sleep_settings.h"

#include <optional>
#include <string>
#include <vector>

#include "base/text.h"
#include "probes/settings/unit_files.h"

namespace probes {
namespace {

using base::MachineRoot;
using base::Reading;

Reading<std::vector<std::string>> ReadStates(const MachineRoot& root) {
  const auto text = root.Read("/sys/power/state");
  if (!text) {
    return base::Result<std::vector<std::string>>(text.error());
  }
  std::vector<std::string> states;
  for (const std::string_view word : base::SplitWords(*text)) {
    states.emplace_back(base::Printable(word, 20));
  }
  return states;
}

/// Masked units, or a sleep.conf that forbids suspending (systemd-sleep.conf(5)).
ConfiguredChoice ReadTarget(const MachineRoot& root) {
  if (!HasUnits(root)) {
    return {Reading<std::string>::Unknown("no folder of service units here"), ""};
  }
  for (const char* unit : {"sleep.target", "suspend.target"}) {
    if (IsMasked(root, unit)) {
      return {std::string("masked"), std::string("/etc/systemd/system/") + unit};
    }
  }
  const auto allowed = LastChoice(ReadConfiguration(root, "sleep.conf"), "Sleep", "AllowSuspend");
  if (allowed && !IsYes(*allowed->value)) {
    return {std::string("masked"), allowed->file};
  }
  return {std::string("allowed"), ""};
}

/// The choice of a file, else what logind.conf(5) documents for none.
ConfiguredChoice ChoiceOr(const std::vector<UnitText>& texts, std::string_view key,
                          const char* documented) {
  return LastChoice(texts, "Login", key).value_or(ConfiguredChoice{std::string(documented), ""});
}

void ReadSessionManager(const MachineRoot& root, SettingsInventory& settings) {
  if (ReadUnit(root, "systemd-logind.service").empty()) {
    const auto why = Reading<std::string>::Unknown("no session manager's unit here");
    settings.idle_action.value = settings.lid_action.value = why;
    return;
  }
  const std::vector<UnitText> texts = ReadConfiguration(root, "logind.conf");
  settings.idle_action = ChoiceOr(texts, "IdleAction", "ignore");
  // On mains power the second key decides where it is given.
  const auto on_mains = LastChoice(texts, "Login", "HandleLidSwitchExternalPower");
  settings.lid_action = on_mains ? *on_mains : ChoiceOr(texts, "HandleLidSwitch", "suspend");
}

Reading<bool> ReadLid(const MachineRoot& root) {
  static const std::string devices = "/sys/bus/acpi/devices";
  if (!root.Exists(devices)) {
    return Reading<bool>::Unknown("no ACPI devices are shown");
  }
  return root.Exists(devices + "/PNP0C0D:00");  // ACPI 6.4, table 5.158: lid device
}

}  // namespace

void ReadSleepSettings(const MachineRoot& root, SettingsInventory& settings) {
  settings.sleep_states = ReadStates(root);
  settings.sleep_target = ReadTarget(root);
  ReadSessionManager(root, settings);
  settings.has_lid = ReadLid(root);
}

}  // namespace probes
