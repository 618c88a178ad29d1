// SPDX-License-Identifier: Apache-2.0
//
// Where capture devices hang and who has taken them.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// usb-no-pictures: a capture device without a driver or a video node.
void NoPictures(const RuleInput& input, std::vector<Finding>& findings);
/// usb-may-be-faster: a capture at 480 Mb/s that shows signs of SuperSpeed, with no list of its
/// capabilities to tell.
void MayBeFaster(const RuleInput& input, std::vector<Finding>& findings);
/// usb-hub-depth: as many hubs in a row as USB allows, nearly or beyond.
void HubDepth(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
