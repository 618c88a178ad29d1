// SPDX-License-Identifier: Apache-2.0
//
// The wiring as a document shows it: every USB link with its load and the findings on it.

#pragma once

#include <string>
#include <vector>

#include "report/data/document.h"
#include "report/loads/usb_load.h"

namespace report {

/// Depth first, as the links are. A node carries the ids of the findings that are about it.
std::vector<WiringNode> BuildWiring(const std::vector<UsbLink>& links,
                                    const std::vector<UsbStream>& streams,
                                    const std::vector<Finding>& findings);

/// Whether a node is a link that captures load. A root hub is no cable; its bus is a link where all
/// ports share it.
bool NodeLoaded(const WiringNode& node);
/// The move that takes a capture away from there, or puts one there; null where none does.
const Move* MovedFrom(const MovePlan& plan, const WiringNode& node);
const Move* MovedTo(const MovePlan& plan, const WiringNode& node);
/// "249 MB/s of 400 MB/s", "24.9 MB/s of 24.5 MB/s (assumed)"; empty where nothing is asked for.
std::string NodeLoadText(const WiringNode& node);
/// "37.9 of 112.5 us reserved"; empty where no time is.
std::string NodeReservedText(const WiringNode& node);

}  // namespace report
