// SPDX-License-Identifier: Apache-2.0
//
// Rules on captures that share a USB hub, a controller or a link.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// usb-link-oversubscribed: captures ask more than a link carries (stop).
void LinkOversubscribed(const RuleInput& input, std::vector<Finding>& findings);
/// usb-shared-hub: captures behind one physical hub, whichever half carries them.
void SharedHub(const RuleInput& input, std::vector<Finding>& findings);
/// usb-shared-controller: captures on several ports of a controller beyond its margin.
void SharedController(const RuleInput& input, std::vector<Finding>& findings);
/// usb-bulk-neighbour: storage or network on a controller that captures use.
void BulkNeighbour(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
