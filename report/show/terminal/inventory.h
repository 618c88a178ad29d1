// SPDX-License-Identifier: Apache-2.0
//
// What a PC has, on a terminal.

#pragma once

#include <string>

#include "probes/data/inventory.h"
#include "report/data/writers.h"

namespace report {

/// Model, CPU and memory, graphics, encoders, USB as a tree, cameras, free ports, disks, storage,
/// network, sound, settings; in the long form every mode, setting and counter too. What could not
/// be read is "unknown" with its reason.
std::string WriteInventoryText(const probes::Inventory& inventory, const TerminalStyle& style);

}  // namespace report
