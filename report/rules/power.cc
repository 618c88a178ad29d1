// SPDX-License-Identifier: Apache-2.0
//
// Power saving, cooling, clock rate.

#include <algorithm>
#include <cstdint>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/rules/rules.h"
#include "report/words/cautions.h"

namespace report::rules {
namespace {

// With these drivers "powersave" is the ordinary governor and the energy
// preference says how much is saved (Linux admin-guide/pm/intel_pstate.rst,
// amd-pstate.rst, active mode).
bool ScalesByPreference(const probes::CpuInventory& cpu) {
  if (!cpu.frequency_driver.known()) {
    return false;
  }
  const std::string& driver = *cpu.frequency_driver;
  return driver == "intel_pstate" || driver == "amd-pstate-epp" || driver == "amd_pstate_epp";
}

bool Contains(const base::Reading<std::string>& reading, const char* text) {
  return reading.known() && reading->find(text) != std::string::npos;
}

std::string GigaHertz(std::int64_t khz) {
  return fmt::format("{:.2f} GHz", static_cast<double>(khz) / 1e6);
}

/// Without boost intel_pstate lowers each policy to the base rate, and says so in
/// scaling_max_freq (intel_pstate_verify_cpu_policy of drivers/cpufreq/intel_pstate.c).
bool BoostExplains(const probes::CpuInventory& cpu, const probes::CoreKind& kind) {
  if (cpu.boost_enabled.value_or(true)) {
    return false;
  }
  if (kind.base_khz.known()) {
    return *kind.allowed_khz >= *kind.base_khz;
  }
  return Contains(cpu.frequency_driver, "intel");
}

/// A kind whose threads are allowed less than they can, whatever boost is set to.
bool HeldBack(const probes::CpuInventory& cpu, const probes::CoreKind& kind) {
  return kind.held_threads.value_or(0) > 0 && kind.allowed_khz.known() && kind.max_khz.known() &&
         *kind.allowed_khz < *kind.max_khz && !BoostExplains(cpu, kind);
}

std::string HeldText(const probes::CpuInventory& cpu, const probes::CoreKind& kind) {
  return fmt::format(
      "{}{} of {} threads may not run as fast as they can: {} at most, of {} ({:.0f} %)",
      cpu.kinds.size() > 1 ? base::Printable(kind.name, 40) + " cores: " : "", *kind.held_threads,
      kind.threads, GigaHertz(*kind.allowed_khz), GigaHertz(*kind.max_khz),
      100.0 * static_cast<double>(*kind.allowed_khz) / static_cast<double>(*kind.max_khz));
}

}  // namespace

void CpuHeldBack(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::CpuInventory& cpu = input.facts.machine().cpu;
  Finding finding = NewFinding("cpu-held-back", Severity::kWarn);
  std::int64_t fastest = 0;
  for (const probes::CoreKind& kind : cpu.kinds) {
    if (HeldBack(cpu, kind)) {
      finding.evidence.push_back(HeldText(cpu, kind));
      fastest = std::max(fastest, *kind.max_khz);
    }
  }
  if (fastest > 0) {
    finding.action = fmt::format(
        "Let it run at its full clock for the show (as root: cpupower frequency-set --max "
        "{:.2f}GHz). ",
        static_cast<double>(fastest) / 1e6);
  }
  if (cpu.performance_limit.value_or(100) < 100) {
    finding.evidence.push_back(fmt::format("intel_pstate allows {} % of its speed (max_perf_pct)",
                                           *cpu.performance_limit));
    finding.action += "Set max_perf_pct of intel_pstate to 100. ";
  }
  if (finding.evidence.empty()) {
    return;
  }
  if (cpu.firmware_khz.known() && cpu.max_khz.known() && *cpu.firmware_khz <= *cpu.max_khz) {
    finding.evidence.push_back(
        fmt::format("the firmware allows {} at most now", GigaHertz(*cpu.firmware_khz)));
  }
  finding.title = "The CPU is held below its own highest clock rate";
  finding.bears_on = {Resource::kCpu, Resource::kOneThread};
  finding.action +=
      "If the limit comes back by itself, heat or a weak power supply sets it: cool the PC, and "
      "plug in a supply that is large enough.";
  findings.push_back(finding);
}

void CpuThrottled(const RuleInput& input, std::vector<Finding>& findings) {
  const auto& telemetry = input.facts.evidence.telemetry;
  if (!telemetry || telemetry->throttle_events.value_or(0) <= 0) {
    return;
  }
  Finding finding = NewFinding("cpu-throttled", Severity::kWarn);
  finding.title = "The CPU slowed itself down during the run because of heat or power";
  finding.evidence.push_back(
      fmt::format("{} throttle events counted during the run", *telemetry->throttle_events));
  finding.action = WithCaution("Clean its fans and filters, give it air, then run a full length.",
                               kCautionInside);
  findings.push_back(finding);
}

void RunningOnBattery(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::SettingsInventory& settings = input.facts.machine().settings;
  if (!settings.on_mains.known() || *settings.on_mains) {
    return;
  }
  findings.push_back({.id = "power-battery",
                      .severity = Severity::kWarn,
                      .title = "The PC runs from its battery",
                      .evidence = {"no mains supply is online"},
                      .action = "Plug in its power supply, one that is large enough, and run "
                                "again: a PC is slower on battery."});
}

void PowerSavingGovernor(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::CpuInventory& cpu = input.facts.machine().cpu;
  const bool by_preference = ScalesByPreference(cpu);
  const bool saves = by_preference ? Contains(cpu.energy_preference, "power")
                                   : Contains(cpu.governor, "powersave");
  if (!saves) {
    return;
  }
  const std::string driver = base::Printable(cpu.frequency_driver.value_or("unknown driver"), 40);
  Finding finding = NewFinding("power-saving-governor", Severity::kWarn);
  if (by_preference) {
    finding.title = "The CPU is told to save power";
    finding.evidence.push_back(fmt::format("energy preference \"{}\" ({})",
                                           base::Printable(*cpu.energy_preference, 60), driver));
    finding.action = "Set the energy preference to \"performance\" for the show.";
  } else {
    finding.title = "The CPU is held at its lowest clock rate";
    finding.evidence.push_back(
        fmt::format("governor \"{}\" ({})", base::Printable(*cpu.governor, 60), driver));
    finding.action = "Set the governor to \"performance\" or \"schedutil\" for the show.";
  }
  findings.push_back(finding);
}

void PowerSavingProfile(const RuleInput& input, std::vector<Finding>& findings) {
  const base::Reading<std::string>& profile = input.facts.machine().settings.power_profile;
  if (!profile.known() || (*profile != "low-power" && *profile != "quiet" && *profile != "cool")) {
    return;
  }
  findings.push_back({.id = "power-saving-profile",
                      .severity = Severity::kWarn,
                      .title = "The platform profile \"" + *profile + "\" holds the PC back",
                      .evidence = {"ACPI platform profile is " + *profile},
                      .action = "Choose the profile \"performance\", or \"balanced\", for the "
                                "show."});
}

void PcieSaving(const RuleInput& input, std::vector<Finding>& findings) {
  const base::Reading<std::string>& policy = input.facts.machine().settings.pcie_power_saving;
  if (!policy.known() || (*policy != "powersave" && *policy != "powersupersave")) {
    return;
  }
  findings.push_back({.id = "pcie-power-saving",
                      .severity = Severity::kWarn,
                      .title = "PCIe links go to sleep between transfers",
                      .evidence = {"ASPM policy is " + *policy},
                      .action = "Set the ASPM policy to \"default\" or \"performance\"."});
}

void PowerSavingTuning(const RuleInput& input, std::vector<Finding>& findings) {
  const probes::ConfiguredChoice& tuning = input.facts.machine().settings.tuning_profile;
  // "power-saver" of one daemon; "powersave", "laptop-battery-powersave" of the other.
  if (!Contains(tuning.value, "powersave") && !Contains(tuning.value, "power-saver")) {
    return;
  }
  findings.push_back(
      {.id = "power-saving-tuning",
       .severity = Severity::kWarn,
       .title = "A tuning daemon is told to save power",
       .evidence = {fmt::format("profile \"{}\" in {}", base::Printable(*tuning.value, 60),
                                base::Printable(tuning.file))},
       .action = "Choose its profile for performance for the show."});
}

void DeepIdleStates(const RuleInput& input, std::vector<Finding>& findings) {
  // A picture of 60 a second lasts 16.7 ms and a USB microframe 125 us (common practice:
  // waking should take no longer than the shortest of what must be met).
  constexpr int kLongUs = 125;
  const auto& states = input.facts.machine().settings.idle_states;
  if (!states.known()) {
    return;
  }
  const probes::CpuIdleState* deepest = nullptr;
  for (const probes::CpuIdleState& state : *states) {
    if (!state.disabled &&
        (deepest == nullptr || state.exit_latency_us > deepest->exit_latency_us)) {
      deepest = &state;
    }
  }
  if (deepest == nullptr || deepest->exit_latency_us <= kLongUs) {
    return;
  }
  findings.push_back(
      {.id = "cpu-idle-deep",
       .severity = Severity::kNote,
       .title = fmt::format("An idle CPU takes up to {} us to wake", deepest->exit_latency_us),
       .evidence = {fmt::format("state {} of cpu0: latency {} us, not disabled",
                                base::Printable(deepest->name, 40), deepest->exit_latency_us)},
       .action =
           "Where frames are dropped and nothing is full, disable the deep states for the show "
           "and compare."});
}

void BoostState(const RuleInput& input, std::vector<Finding>& findings) {
  const base::Reading<bool>& boost = input.facts.machine().cpu.boost_enabled;
  if (!boost.known()) {
    return;
  }
  Finding finding = NewFinding("cpu-boost", Severity::kNote);
  if (*boost) {
    finding.title = "CPU boost is on: a short run may be faster than a long one";
    finding.action = "Run the full length once, in the room and the case of the show.";
  } else {
    finding.title = "CPU boost is off";
    finding.action = "Turn boost on in the firmware if more speed is wanted and cooling allows.";
  }
  finding.evidence.emplace_back(*boost ? "boost enabled" : "boost disabled");
  findings.push_back(finding);
}

}  // namespace report::rules
