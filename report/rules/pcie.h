// SPDX-License-Identifier: Apache-2.0
//
// Rules on PCIe links.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// pcie-link-reduced: a capture card, a USB controller with captures or a recording
/// disk on fewer lanes or slower than both ends of its link can.
void PcieLinkReduced(const RuleInput& input, std::vector<Finding>& findings);
/// pcie-port-narrow: the port above is the smaller half of a link that lacks room.
void PciePortNarrow(const RuleInput& input, std::vector<Finding>& findings);
/// pcie-shared-uplink: captures and a recording disk share a link beyond its margin.
void PcieSharedUplink(const RuleInput& input, std::vector<Finding>& findings);
/// pcie-chipset: captures and other loads hang on the chipset, whose uplink is not shown (note).
void PcieChipset(const RuleInput& input, std::vector<Finding>& findings);
/// pcie-link-sleep: links that captures come in on may sleep deeply (note).
void PcieLinkSleep(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
