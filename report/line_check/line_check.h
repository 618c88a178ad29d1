// SPDX-License-Identifier: Apache-2.0
//
// What a line-check means: which node is which source, findings and verdict.

#pragma once

#include <string>
#include <vector>

#include "probes/data/line_check.h"
#include "probes/data/usb.h"
#include "profiles/profile.h"
#include "report/data/document.h"
#include "report/loads/source_match.h"

namespace report {

/// Every node at its current mode.
std::vector<probes::LineDevice> EveryNode(const std::vector<probes::CaptureNode>& nodes);

/// One device for each source that arrives by USB or PCIe, in the profile's order.
/// USB sources have the device that `usb` found for them; PCIe sources take nodes
/// that are not on USB: first those whose node, name, card, driver or address has
/// the text that the source names, then the others in order, those first that list
/// the source's pixel format. kNotThere where none is left.
std::vector<probes::LineDevice> ChooseNodes(const profiles::Profile& profile,
                                            const SourceMatch& usb,
                                            const std::vector<probes::CaptureNode>& nodes);

/// Fills in what a profile makes of the nodes: its devices, nodes beside them
/// that others hold, and sources that are not checked.
void ChooseForProfile(const profiles::Profile& profile, const probes::UsbInventory& usb,
                      const std::vector<probes::CaptureNode>& nodes, probes::LineCheck& check);

/// "Left 1 (video0) is held open by player (process 812)", one after another, safe to show;
/// empty: nobody holds any.
std::string UsersText(const probes::LineCheck& check);
/// Marks every device that was to be run as left alone, held or beside one that is.
void LeaveAlone(probes::LineCheck& check);
/// Whether a device was left alone because another program holds it, and so was not opened.
bool LeftAlone(const probes::LineDevice& device);

struct LineDocument {
  probes::LineCheck check;
  Verdict verdict = Verdict::kUnproven;
  bool complete = false;
  std::string headline;
  std::vector<Finding> findings;
};

/// short: pictures lost after the start or missing, a rate too low by half a percent, no bandwidth,
/// not the mode that was asked for, or a device that did not deliver though it has a signal.
/// unproven: a device is not there, has no signal, may not be opened, is in use or was left alone,
/// nothing was checked, or the run was cut short. tight: damaged or short pictures, jitter above
/// half an interval, a rate off by more than 200 ppm, faults of timestamps or numbers, settings not
/// taken back, a link slower than it could be under a device that did not run as asked, or a line
/// in the kernel's log that is more than a note. ready: none of these.
LineDocument JudgeLineCheck(probes::LineCheck check, const probes::UsbInventory& usb);

/// "Left 1 (video0)", or the device's own name where there is no source.
std::string LineDeviceLabel(const probes::LineDevice& device);
/// "1920x1080 yuyv422 at 59.94".
std::string LineModeText(const probes::LineMode& mode);

/// One object: `format` "rigproof-line-check", `version`, `verdict`, `complete`,
/// `headline`, `findings`, then the check's members.
std::string LineCheckJson(const LineDocument& document);

}  // namespace report
