// SPDX-License-Identifier: Apache-2.0
//
// Settings: power, sleep, swap, clock keepers, timers, idle states.

#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/rows/machine.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using Text = base::Reading<std::string>;

Text ChoiceText(const probes::ConfiguredChoice& choice) {
  if (!choice.value.known()) {
    return choice.value;
  }
  return choice.file.empty() ? *choice.value + " (no file says otherwise)"
                             : fmt::format("{} ({})", *choice.value, choice.file);
}

/// A list in words; `none` where it is known to be empty.
template <typename T, typename Format>
Text ListText(const base::Reading<std::vector<T>>& list, const char* none, Format format) {
  if (!list.known()) {
    return Text::Unknown(list.why_unknown());
  }
  std::string text;
  for (const T& one : *list) {
    text += (text.empty() ? "" : "; ") + format(one);
  }
  return text.empty() ? std::string(none) : text;
}

std::string SwapText(const probes::SwapArea& area) {
  std::string text = fmt::format("{} ({}, {} of {} in use", area.name, area.kind,
                                 base::FormatBytes(static_cast<double>(area.used_bytes)),
                                 base::FormatBytes(static_cast<double>(area.size_bytes)));
  for (const std::string& disk : area.disks) {
    text += ", on " + disk;
  }
  return text + ")";
}

std::string KeeperText(const probes::ClockKeeper& keeper) {
  return fmt::format("{}, {} ({})", keeper.name, keeper.running ? "running" : "switched on",
                     keeper.file);
}

std::string TimerText(const probes::WorkTimer& timer) {
  return fmt::format("{}, {}{}{}", timer.unit, timer.work,
                     timer.when.empty() ? std::string() : ", " + timer.when,
                     timer.idle ? ", nothing to do" : "");
}

std::string IdleText(const probes::CpuIdleState& state) {
  return fmt::format("{} {} us{}", state.name, state.exit_latency_us,
                     state.disabled ? " (off)" : "");
}

std::string WatcherText(const probes::FileWatcher& watcher) {
  return fmt::format("{} ({})", watcher.process, watcher.pid);
}

std::string Plain(const std::string& text) {
  return text;
}

}  // namespace

show::Part SettingsPart(const probes::SettingsInventory& settings) {
  const Text lid = settings.has_lid.known() && !*settings.has_lid ? Text(std::string("no lid"))
                                                                  : ChoiceText(settings.lid_action);
  show::Facts facts;
  facts.Add("system", settings.os);
  facts.Add("kernel", settings.kernel);
  facts.Add("on mains", settings.on_mains, YesNo);
  facts.Add("battery", settings.has_battery, YesNo);
  facts.Add("power profile", settings.power_profile);
  facts.Add("PCIe saving", settings.pcie_power_saving);
  facts.Add("clock in step", settings.clock_synchronised, YesNo);
  facts.Add("file watchers", ListText(settings.file_watchers, "none", WatcherText));
  // What is not known of the rarer ones is left to the long form.
  const auto add = [&facts](const char* name, const Text& text) {
    facts.Add(name, text, text ? show::When::kAlways : show::When::kDetails);
  };
  add("tuning", ChoiceText(settings.tuning_profile));
  add("sleep states", ListText(settings.sleep_states, "none", Plain));
  add("sleep", ChoiceText(settings.sleep_target));
  add("when idle", ChoiceText(settings.idle_action));
  add("lid closed", lid);
  add("swap to", ListText(settings.swap_areas, "none", SwapText));
  add("swappiness", settings.swappiness.known() ? Text(std::to_string(*settings.swappiness))
                                                : Text::Unknown(settings.swappiness.why_unknown()));
  add("clock by", ListText(settings.clock_keepers, "no program", KeeperText));
  add("timers", ListText(settings.work_timers, "none that start updates or upkeep", TimerText));
  add("idle states", ListText(settings.idle_states, "none", IdleText));
  return PartOf("Settings", std::move(facts));
}

}  // namespace report
