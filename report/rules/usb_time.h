// SPDX-License-Identifier: Apache-2.0
//
// Rules on the time of USB buses: isochronous streams that are refused, translators that are full.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// usb-ehci-refuses, usb-no-bandwidth: reservations on a bus beyond what may be held (ENOSPC).
void BusRefusesStreams(const RuleInput& input, std::vector<Finding>& findings);
/// usb-setting-too-small: a mode that no alternate setting of its device holds (EIO).
void SettingTooSmall(const RuleInput& input, std::vector<Finding>& findings);
/// usb-translator-full: slow devices that one translator cannot serve at once.
void TranslatorFull(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
