// SPDX-License-Identifier: Apache-2.0
//
// Tables of the machine section of the report page.

#pragma once

#include <vector>

#include "probes/data/inventory.h"
#include "report/show/html/pieces.h"

namespace report {

/// Graphics adapters and capture cards.
Table AdapterTable(const probes::Inventory& machine);
/// Each encoder and decoder as tried, with the reason of a refusal.
Table CodecTable(const probes::CodecInventory& codecs);
Table UsbTable(const probes::UsbInventory& usb);
/// One entry for each recording folder, down to its disks; false when none.
View StorageView(const std::vector<probes::StorageInventory>& storage);
Table NetworkTable(const probes::NetworkInventory& network);

}  // namespace report
