// SPDX-License-Identifier: Apache-2.0
//
// Asks a disk of this PC for its health.

#pragma once

#include <string>

#include "probes/data/storage_network.h"

namespace probes {

/// By NVMe's or ATA's own commands, which only read and need root; `disk` is the kernel's name.
/// Disks behind USB are not asked: some bridges do not survive the question. A disk that does not
/// answer within seconds is left alone. What cannot be had is unknown with the reason.
DiskHealth AskDiskHealth(const std::string& disk, const std::string& transport);

}  // namespace probes
