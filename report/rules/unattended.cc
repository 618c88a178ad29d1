// SPDX-License-Identifier: Apache-2.0
//
// Sleep, updates, upkeep.

#include <algorithm>
#include <array>
#include <string>
#include <string_view>

#include <fmt/format.h>

#include "base/text.h"
#include "report/rules/rules.h"
#include "report/words/figures.h"

namespace report::rules {
namespace {

bool Is(const probes::ConfiguredChoice& choice, std::string_view value) {
  return choice.value.known() && *choice.value == value;
}

bool Sleeps(const probes::ConfiguredChoice& choice) {
  constexpr std::array<std::string_view, 5> kSleeping{"suspend", "hibernate", "hybrid-sleep",
                                                      "suspend-then-hibernate", "sleep"};
  return std::any_of(kSleeping.begin(), kSleeping.end(),
                     [&](std::string_view word) { return Is(choice, word); });
}

/// logind.conf(5): what ends the work of a PC; "ignore" and "lock" do not.
bool EndsWork(const probes::ConfiguredChoice& choice) {
  constexpr std::array<std::string_view, 4> kEnding{"poweroff", "halt", "reboot", "kexec"};
  return Sleeps(choice) || std::any_of(kEnding.begin(), kEnding.end(),
                                       [&](std::string_view word) { return Is(choice, word); });
}

/// Powering off is not sleep: a masked sleep target does not keep it away.
bool KeptAway(const probes::SettingsInventory& settings, const probes::ConfiguredChoice& choice) {
  return Sleeps(choice) && Is(settings.sleep_target, "masked");
}

std::string ChoiceText(std::string_view key, const probes::ConfiguredChoice& choice) {
  return fmt::format("{}={} ({})", key, base::Printable(choice.value.value_or("unknown"), 60),
                     choice.file.empty() ? "no file sets it: what is documented for that"
                                         : base::Printable(choice.file));
}

std::string TimerLine(const probes::WorkTimer& timer) {
  std::string line = fmt::format("{} ({})", base::Printable(timer.unit, 60), timer.work);
  line += timer.when.empty() ? ": when is not told" : ": " + base::Printable(timer.when, 160);
  if (!timer.delay.empty()) {
    // A bare number is seconds (systemd.time(7)).
    line += fmt::format(", up to {}{} later at random", base::Printable(timer.delay, 40),
                        base::ParseInt(timer.delay) ? " s" : "");
  }
  if (timer.catches_up) {
    line += ", and soon after a start where one was missed";
  }
  return timer.setting.empty() ? line : line + "; " + base::Printable(timer.setting);
}

}  // namespace

void SleepWhenIdle(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::SettingsInventory& settings = input.facts.machine().settings;
  if (!EndsWork(settings.idle_action) || KeptAway(settings, settings.idle_action)) {
    return;
  }
  findings.push_back({.id = "sleep-when-idle",
                      .severity = Severity::kWarn,
                      .title = "The PC stops work by itself when nobody touches it",
                      .evidence = {ChoiceText("IdleAction", settings.idle_action)},
                      .action =
                          "Set IdleAction=ignore in logind.conf, or mask sleep.target for the "
                          "show."});
}

void SleepOnLid(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::SettingsInventory& settings = input.facts.machine().settings;
  if (!settings.has_lid.value_or(false) || !EndsWork(settings.lid_action) ||
      KeptAway(settings, settings.lid_action)) {
    return;
  }
  findings.push_back({.id = "sleep-lid",
                      .severity = Severity::kWarn,
                      .title = "Closing the lid stops the PC",
                      .evidence = {ChoiceText("HandleLidSwitch", settings.lid_action)},
                      .action =
                          "Set HandleLidSwitch=ignore in logind.conf, or keep the lid open and "
                          "say so on a label."});
}

void SleepAllowed(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::SettingsInventory& settings = input.facts.machine().settings;
  const bool can = settings.sleep_states.known() &&
                   std::any_of(settings.sleep_states->begin(), settings.sleep_states->end(),
                               [](const auto& state) { return state == "mem" || state == "disk"; });
  if (!can || !Is(settings.sleep_target, "allowed") || EndsWork(settings.idle_action)) {
    return;
  }
  findings.push_back(
      {.id = "sleep-allowed",
       .severity = Severity::kNote,
       .title = "Nothing keeps the PC from falling asleep if a desktop asks for it",
       .evidence = {fmt::format("/sys/power/state: {}", fmt::join(*settings.sleep_states, " ")),
                    "sleep.target is not masked; what a desktop decides stands in no file that is "
                    "read here"},
       .action = "Turn sleep off in the desktop's power settings, or mask sleep.target for the "
                 "show."});
}

void WorkTimers(const RuleInput& input, std::vector<Finding>& findings) {
  const auto& timers = input.facts.machine().settings.work_timers;
  if (!timers.known()) {
    return;
  }
  Finding finding = NewFinding("work-timers", Severity::kNote);
  for (const probes::WorkTimer& timer : *timers) {
    if (timer.idle) {
      continue;
    }
    finding.evidence.push_back(TimerLine(timer));
    if (timer.work != "file index") {
      finding.severity = Severity::kWarn;
    }
  }
  if (finding.evidence.empty()) {
    return;
  }
  finding.title = fmt::format("{} may start during the show",
                              CountText(static_cast<long long>(finding.evidence.size()),
                                        "job of updates or upkeep", "jobs of updates or upkeep"));
  finding.action =
      "Run updates and upkeep days before, then stop these timers for the show (systemctl stop "
      "UNIT) and start them after it.";
  findings.push_back(finding);
}

}  // namespace report::rules
