// SPDX-License-Identifier: Apache-2.0
//
// Reads the log of a watched production, and tells its clocks apart.

#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "base/result.h"
#include "probes/data/watch_log.h"

namespace probes {

/// The log in folder `path` (or one part of it). Damage and a cut tail are left out and counted;
/// kMalformed when it is no log at all, kInvalid for a version that is not known.
base::Result<WatchLog> ReadWatchLog(const std::filesystem::path& path,
                                    const WatchRange& range = {});

/// The same, giving each sample within the range to `seen` instead of keeping it: memory does not
/// grow with the log. Disks, links and engines are those of the answer.
base::Result<WatchLog> StreamWatchLog(const std::filesystem::path& path, const WatchRange& range,
                                      const std::function<void(const WatchSample&)>& seen);

/// The samples as a record of one run, for what explains rehearsals too. Where `disk` is one of
/// the log's disks, `disk_*` are put from it. Samples without the program keep `own_cpus` 0.
TelemetryRecord RecordOfWatch(const WatchLog& log, const std::string& disk = "");

/// Wall clock (UTC since 1970) at a moment of the log; beyond its ends the nearest stretch goes on.
std::int64_t WallOfLogTime(const WatchLog& log, double at_s);

/// Moments of the log that the wall clock showed `wall_ns`: none (outside, or skipped by a step
/// forward), one, or more (after a step back).
std::vector<double> LogTimesOfWall(const WatchLog& log, std::int64_t wall_ns);

}  // namespace probes
