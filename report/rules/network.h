// SPDX-License-Identifier: Apache-2.0
//
// Rules on the network.

#pragma once

#include <vector>

#include "report/rules/all.h"

namespace report::rules {

/// uplink-unmeasured: streams were sent to this PC itself, or the way out is unknown.
void UplinkUnmeasured(const RuleInput& input, std::vector<Finding>& findings);
/// network-slow: a link slower than what it must carry leaves room for.
void NetworkTooSlow(const RuleInput& input, std::vector<Finding>& findings);
/// network-half-duplex: a link that cannot send and receive at once.
void HalfDuplex(const RuleInput& input, std::vector<Finding>& findings);
/// network-wireless: a stream or source over a wireless link.
void WirelessLink(const RuleInput& input, std::vector<Finding>& findings);
/// network-no-route: a stream goes where no link leads.
void NoRoute(const RuleInput& input, std::vector<Finding>& findings);
/// network-errors: errors or drops counted on a link in use.
void NetworkErrors(const RuleInput& input, std::vector<Finding>& findings);

}  // namespace report::rules
