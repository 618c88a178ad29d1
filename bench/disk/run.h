// SPDX-License-Identifier: Apache-2.0
//
// What a disk sustains: one file written in order until the time is over.

#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <stop_token>

#include "bench/data/results.h"

namespace bench {

struct DiskRunOptions {
  std::filesystem::path folder;
  double seconds = 8;
  std::int64_t largest_bytes = std::int64_t{32} << 30;  // never more than the room above the guard
  std::int64_t block_bytes = 1 << 20;                   // rounded up to kDirectAlignment
  double window_seconds = 0.25;
};

/// Writes data that cannot be compressed past the page cache (paced through it
/// where the filesystem refuses), one block at a time, and waits for the disk
/// to have it all. The file has no name and vanishes however the run ends. A
/// full or broken disk, a lack of room and `stop` end it with what was measured;
/// `stopped_because` is empty only when time or size ended it as planned.
/// `progress` gets 0..1, a few times a second.
DiskRun MeasureDisk(const DiskRunOptions& options, const std::stop_token& stop = {},
                    const std::function<void(double fraction)>& progress = {});

}  // namespace bench
