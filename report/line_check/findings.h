// SPDX-License-Identifier: Apache-2.0
//
// The rules of a line-check: each looks at one device, or at the whole, and may add a finding.

#pragma once

#include <vector>

#include "probes/data/line_check.h"
#include "probes/data/usb.h"
#include "report/data/document.h"

namespace report {

/// What a rule found and what it means for the verdict.
struct LineFinding {
  Finding finding;
  Verdict least = Verdict::kReady;  // the verdict is no better than this
};

/// The rate that a device is held against; 0: none is known.
double WantedRate(const probes::LineDevice& device);

/// Where it hangs, and the source that it carries.
std::vector<Subject> SubjectsOf(const probes::LineDevice& device);

/// Outcome, mode, losses, rate, jitter, damage and settings of one device.
void AddDeviceFindings(const probes::LineDevice& device, std::vector<LineFinding>& findings);

/// line-no-bandwidth: with the way to the controller and who else is on it.
/// line-slow-link: a device that did not run as asked on a link slower than it could have.
void AddBandwidthFindings(const probes::LineCheck& check, const probes::UsbInventory& usb,
                          std::vector<LineFinding>& findings);

/// line-other-in-use: devices beside the check that other programs hold.
void AddNeighbourFindings(const probes::LineCheck& check, std::vector<LineFinding>& findings);

/// line-kernel-log, line-log-unread.
void AddLogFindings(const probes::KernelLog& log, std::vector<LineFinding>& findings);

}  // namespace report
