// SPDX-License-Identifier: Apache-2.0
//
// Rules on power saving, cooling and the clock rate of the CPU.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// cpu-throttled: the CPU slowed itself down during the run.
void CpuThrottled(const RuleInput& input, std::vector<Finding>& findings);
/// cpu-held-back: a limit below the CPU's own highest clock rate, other than boost being off.
void CpuHeldBack(const RuleInput& input, std::vector<Finding>& findings);
/// power-battery: the PC runs from its battery.
void RunningOnBattery(const RuleInput& input, std::vector<Finding>& findings);
/// power-saving-governor: the frequency governor or its energy preference saves power.
void PowerSavingGovernor(const RuleInput& input, std::vector<Finding>& findings);
/// power-saving-profile: the platform profile saves power.
void PowerSavingProfile(const RuleInput& input, std::vector<Finding>& findings);
/// pcie-power-saving: PCIe links may sleep (ASPM).
void PcieSaving(const RuleInput& input, std::vector<Finding>& findings);
/// power-saving-tuning: a tuning daemon's profile saves power.
void PowerSavingTuning(const RuleInput& input, std::vector<Finding>& findings);
/// cpu-idle-deep: an idle CPU takes long to wake (note).
void DeepIdleStates(const RuleInput& input, std::vector<Finding>& findings);
/// cpu-boost: whether the CPU may clock above its base rate (note).
void BoostState(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
