// SPDX-License-Identifier: Apache-2.0
//
// Rules on what else took the CPU.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// background-cpu, background-disk, background-network: other programs took what a fair test needs.
void OthersBusy(const RuleInput& input, std::vector<Finding>& findings);
/// host-steal: the host took CPU time from this virtual machine.
void HostSteal(const RuleInput& input, std::vector<Finding>& findings);
/// cpu-quota: a quota held the run back.
void QuotaThrottled(const RuleInput& input, std::vector<Finding>& findings);
/// virtual-machine: the PC is a guest (note).
void VirtualMachine(const RuleInput& input, std::vector<Finding>& findings);
/// file-scanners: processes that look into every opened file.
void FileScanners(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
