// SPDX-License-Identifier: Apache-2.0
//
// What disks write of their own health: NVMe's health log, ATA's device statistics.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "probes/data/storage_network.h"

namespace probes {

/// The health log page (NVM Express Base Specification 2.0, log page 02h); unknown throughout
/// where the bytes are too few.
DiskHealth ParseNvmeHealth(std::string_view log);

/// Pages of the device statistics log (ATA/ATAPI Command Set ACS-4, log 04h), in any order, each
/// with its own number in it. What no page holds as valid is unknown.
DiskHealth ParseAtaStatistics(const std::vector<std::string>& pages);

/// Pages of the statistics log that ParseAtaStatistics looks into.
inline constexpr int kAtaPages[] = {1, 4, 5, 7};

/// What SMART RETURN STATUS (ACS-4, 7.46) left in the registers, which come as sense data (SCSI /
/// ATA Translation 3, 12.2.2.8): whether the disk has passed none of its limits.
base::Reading<bool> ParseAtaSound(std::string_view sense);

/// Wear by an eMMC's `life_time` ("0x01 0x02", JEDEC JESD84-B51: tenths of its life, 0x0b for
/// more than all of it): the upper end of the worse of both; nothing where it is not told.
std::optional<int> ParseMmcLife(std::string_view text);

/// Unknown throughout, for that reason.
DiskHealth UnknownHealth(const std::string& why);

/// One line "NAME KEY=VALUE ...", of what is known; for a captured machine.
std::string CapturedHealthLine(const std::string& disk, const DiskHealth& health);
/// The health of `disk` in such lines; what is not in them is unknown.
DiskHealth FindCapturedHealth(std::string_view lines, const std::string& disk);

}  // namespace probes
