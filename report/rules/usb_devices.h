// SPDX-License-Identifier: Apache-2.0
//
// Rules on single USB capture devices.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// usb-capture-missing: fewer capture devices than USB sources; usb-unread: nobody knows.
void CaptureMissing(const RuleInput& input, std::vector<Finding>& findings);
/// usb-mode-not-offered: a device that lists modes, and none is the one asked.
void ModeNotOffered(const RuleInput& input, std::vector<Finding>& findings);
/// usb-slower-than-it-could: a capture negotiated below its best speed.
void SlowerThanItCould(const RuleInput& input, std::vector<Finding>& findings);
/// usb-hub-power: a bus-powered hub that feeds more than its port gives.
void HubPower(const RuleInput& input, std::vector<Finding>& findings);
/// usb-autosuspend: a capture that the system may put to sleep.
void Autosuspend(const RuleInput& input, std::vector<Finding>& findings);
/// usb-descriptors: captures whose descriptors could not be read whole.
void UnreadDescriptors(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
