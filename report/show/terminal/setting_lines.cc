// SPDX-License-Identifier: Apache-2.0
//
// Words for sleep, swap, clock keepers, timers and idle states.

#include "report/show/terminal/setting_lines.h"

#include <fmt/format.h>

#include "base/text.h"

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

std::string Plain(const std::string& text) {
  return text;
}

}  // namespace

std::vector<SettingLine> SettingLines(const probes::SettingsInventory& settings) {
  const Text lid = settings.has_lid.known() && !*settings.has_lid ? Text(std::string("no lid"))
                                                                  : ChoiceText(settings.lid_action);
  const Text swappiness = settings.swappiness.known()
                              ? Text(std::to_string(*settings.swappiness))
                              : Text::Unknown(settings.swappiness.why_unknown());
  return {
      {"tuning", ChoiceText(settings.tuning_profile)},
      {"sleep states", ListText(settings.sleep_states, "none", Plain)},
      {"sleep", ChoiceText(settings.sleep_target)},
      {"when idle", ChoiceText(settings.idle_action)},
      {"lid closed", lid},
      {"swap to", ListText(settings.swap_areas, "none", SwapText)},
      {"swappiness", swappiness},
      {"clock by", ListText(settings.clock_keepers, "no program", KeeperText)},
      {"timers", ListText(settings.work_timers, "none that start updates or upkeep", TimerText)},
      {"idle states", ListText(settings.idle_states, "none", IdleText)},
  };
}

}  // namespace report
