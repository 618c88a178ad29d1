// SPDX-License-Identifier: Apache-2.0
//
// What a log of a watched production tells: samples with their devices, processes and clocks.

#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "base/reading.h"
#include "probes/data/line_check.h"
#include "probes/data/telemetry.h"

namespace probes {

/// Facts of the PC and of the run. No names of hosts or users, no serial numbers.
struct WatchHead {
  int version = 1;
  std::string program_version;
  std::string began_at;            // ISO 8601, UTC
  std::int64_t zero_ns = 0;        // of the monotonic clock where `at_s` is 0
  std::int64_t zero_wall_ns = 0;   // UTC since 1970 at that moment
  double hz = 0;                   // samples a second that were asked for
  int cpus = 0;                    // online
  double ticks_per_second = 0;     // grain of processes' CPU times
  double memory_bytes = 0;         // 0: not told
  std::string cpu_model;           // empty: not told
  std::string kernel;              // release; empty: not told
  std::optional<bool> virtual_pc;  // runs in a virtual machine; absent: not told
  std::string program;             // asked to be watched: a name or number; empty: the busiest
};

/// A disk as the kernel names it: whole disks and layers upon them, no partitions.
struct WatchDisk {
  std::string name;  // "sda", "dm-0"
  std::optional<bool> spinning;
};

/// One disk in one sample.
struct WatchDiskSample {
  std::size_t disk = 0;  // in WatchLog::disks
  double read_bytes_per_second = 0;
  double write_bytes_per_second = 0;
  std::optional<double> read_ms;   // of one finished read, queueing included
  std::optional<double> write_ms;  // of one finished write
  double busy_percent = 0;
  double queue = 0;  // requests in flight
};

/// One network link in one sample.
struct WatchLinkSample {
  std::size_t link = 0;  // in WatchLog::links
  double received_bytes_per_second = 0;
  double sent_bytes_per_second = 0;
  double errors_per_second = 0;  // both ways
  double drops_per_second = 0;   // both ways
};

/// One engine of a graphics adapter, as its driver tells in fdinfo; once a second.
struct WatchEngineSample {
  std::size_t engine = 0;   // in WatchLog::engines
  double busy_percent = 0;  // of the engine's whole capacity, all processes that we may look into
  double own_percent = 0;   // by the watched program
};

/// "video" of "0000:00:02.0".
struct WatchEngine {
  std::string device;  // PCI address, else the driver's name
  std::string name;    // as the driver calls it, without "drm-engine-"
};

/// What the numbers in samples mean.
struct WatchDevices {
  std::vector<WatchDisk> disks;
  std::vector<std::string> links;
  std::vector<WatchEngine> engines;
};

/// One sample. "Ours" in `pc` is the watched program: its process and all below it.
struct WatchSample {
  /// `at_s` counts from the log's zero. `disk_*` is the disk that the program's recordings are on,
  /// else the one that was written most. `unsent_bytes` is told once a second, TCP segments sent
  /// again are those of the program's network namespace; `receiver_limited_percent` stays absent.
  TelemetrySample pc;
  double seconds = 0;                         // that it covers
  std::int64_t wall_ns = 0;                   // UTC since 1970 at its end
  bool program_runs = false;                  // else `own_*` say nothing
  std::optional<double> stopped_percent;      // of our processes: stopped by a signal or a debugger
  std::optional<double> lowest_mhz;           // of the CPUs' clocks
  std::optional<double> softirq_cpus;         // serving interrupts, in CPUs
  std::optional<double> fullest_irq_percent;  // of the CPU that serves most interrupts
  std::optional<double> recording_bytes_per_second;    // growth of files that we write
  std::optional<double> recording_free_bytes;          // on their file system
  std::optional<std::size_t> recording_disk;           // in WatchLog::disks
  std::optional<double> program_memory_bytes;          // resident, our first process
  std::optional<double> datagrams_dropped_per_second;  // UDP, receive buffers full, this PC
  std::optional<double> slept_ms;                      // the PC was suspended for so long
  std::vector<WatchDiskSample> disks;
  std::vector<WatchLinkSample> links;
  std::vector<WatchEngineSample> engines;
};

/// The busiest processes between two looks at all of them, ours among them.
struct WatchProcesses {
  double from_s = 0;
  double to_s = 0;
  struct Share {
    std::string name;
    int pid = 0;
    double cpus = 0;
    bool ours = false;
  };
  std::vector<Share> busiest;  // most first, at most eight
};

/// From this moment on, what counts as ours.
struct WatchProgram {
  double at_s = 0;
  std::string name;  // empty: the program ended, none took its place
  int pid = 0;
  bool as_asked = false;              // else it was the busiest
  std::optional<double> usable_cpus;  // that it may run on
};

/// The wall clock was set, or the PC slept.
struct WatchClockStep {
  double at_s = 0;      // end of the sample that it fell into
  double step_ms = 0;   // wall clock against monotonic clock
  double slept_ms = 0;  // part of it that the PC slept (suspended)
};

/// A stretch without steps: wall time is linear in log time between its ends.
struct WatchClockSpan {
  double from_s = 0;
  double to_s = 0;
  std::int64_t from_wall_ns = 0;
  std::int64_t to_wall_ns = 0;
};

/// What to read of a log, in its own seconds.
struct WatchRange {
  double from_s = -std::numeric_limits<double>::infinity();
  double to_s = std::numeric_limits<double>::infinity();
  /// Above it neighbours are put together, as often as needed (means by their time).
  std::size_t most_samples = 200'000;
};

/// What was read. Processes, kernel lines and samples lie within the range; the rest is the log's.
struct WatchLog {
  WatchHead head;
  double begins_s = 0;  // first and last moment that the whole log holds: its oldest
  double ends_s = 0;    // parts may have been dropped
  std::string ended;    // why it ended: "as asked", "disk guard"; empty: killed, or still running
  std::int64_t damaged_bytes = 0;  // that could not be read, left out
  double sample_seconds = 0;       // usual length of a sample here, after putting together
  std::vector<WatchSample> samples;
  std::vector<WatchDisk> disks;
  std::vector<std::string> links;
  std::vector<WatchEngine> engines;
  std::vector<KernelLogLine> kernel_lines;        // `at_s` from the log's zero
  base::Reading<std::int64_t> kernel_lines_read;  // of the whole log; unknown: why not
  std::vector<WatchProcesses> processes;
  std::vector<WatchProgram> programs;       // of the whole log, in time
  std::vector<WatchClockStep> clock_steps;  // of the whole log
  std::vector<WatchClockSpan> clock_spans;  // of the whole log, in time
  std::vector<std::string> not_read;        // "what: why", said while watching
};

}  // namespace probes
