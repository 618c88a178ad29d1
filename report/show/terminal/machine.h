// SPDX-License-Identifier: Apache-2.0
//
// The sections of an inventory on a terminal.

#pragma once

#include "probes/data/inventory.h"
#include "report/show/terminal/text.h"

namespace report {

void PutCpu(TerminalPage& page, const probes::CpuInventory& cpu);
void PutGpu(TerminalPage& page, const probes::Inventory& machine);
/// Encoders that opened, encoders that refused and why, decoders.
void PutCodecs(TerminalPage& page, const probes::CodecInventory& codecs);
/// Controllers with the hubs and devices below them, indented.
void PutUsb(TerminalPage& page, const probes::UsbInventory& usb);
void PutStorage(TerminalPage& page, const std::vector<probes::StorageInventory>& storage);
void PutNetwork(TerminalPage& page, const probes::NetworkInventory& network);
/// Without `details`, what is not known of the rarer ones is left out.
void PutSettings(TerminalPage& page, const probes::SettingsInventory& settings, bool details);

}  // namespace report
