// SPDX-License-Identifier: Apache-2.0
//
// The quantities of a watched sample: number and grain in the file, name, and how to get at each.

#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>

#include "probes/data/watch_log.h"

namespace probes {

/// One number of a `Thing`. In the file it is an integer, `steps` to one unit.
template <typename Thing>
struct WatchField {
  int number;  // in the file: never given to anything else
  std::string_view name;
  std::string_view help;  // a sentence, of the quantity whatever its unit
  double steps;
  std::optional<double> (*get)(const Thing&);
  void (*set)(Thing&, double);
  bool adds_up = false;  // a count: neighbours are summed, where others are averaged over time
};

/// Of the whole PC and the watched program; not time, cores, devices or names.
std::span<const WatchField<WatchSample>> WatchSampleFields();
std::span<const WatchField<WatchDiskSample>> WatchDiskFields();
std::span<const WatchField<WatchLinkSample>> WatchLinkFields();
std::span<const WatchField<WatchEngineSample>> WatchEngineFields();

/// Numbers in the file that are in no table above.
inline constexpr int kWatchTime = 1;       // microseconds since the log's zero
inline constexpr int kWatchWallAhead = 2;  // microseconds: UTC since 1970 minus kWatchTime
inline constexpr int kWatchHotThread = 3;  // name of a thread, 0: none
inline constexpr int kWatchTopOther = 4;   // name of a process, 0: none
inline constexpr int kWatchRunning = 5;    // whether the program runs
inline constexpr int kWatchRecordingDisk = 6;
inline constexpr int kWatchCovers = 7;  // microseconds; of a block's first sample
inline constexpr int kWatchSlept = 48;  // a field of samples that clocks need too
inline constexpr int kWatchCore = 99;   // percent busy, of the CPU that `thing` counts

/// Puts `next`, which follows it, into `sample`: means by time, counts added up.
void MergeWatchSamples(WatchSample& sample, const WatchSample& next);

/// Puts the values of one of the sample's disks into `disk_*` of `telemetry`; absent where it has
/// none for that disk.
void PutWatchDisk(const WatchSample& sample, std::size_t disk, TelemetrySample& telemetry);

}  // namespace probes
