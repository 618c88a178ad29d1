// SPDX-License-Identifier: Apache-2.0
//
// Parsers of the texts below /proc that more than one probe reads.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace probes {

/// Fields of /proc/meminfo, in bytes; those that are absent are empty.
struct MemInfo {
  std::optional<std::int64_t> total_bytes;
  std::optional<std::int64_t> available_bytes;
  std::optional<std::int64_t> swap_bytes;
  std::optional<std::int64_t> dirty_bytes;
  std::optional<std::int64_t> writeback_bytes;
};
MemInfo ParseMemInfo(std::string_view text);

/// The first processor of /proc/cpuinfo.
struct CpuInfo {
  std::string model;                    // printable; empty when it has no name
  std::optional<bool> hypervisor_flag;  // empty where this kind of CPU has none
};
CpuInfo ParseCpuInfo(std::string_view text);

/// The "cpu" line of /proc/stat, in clock ticks. Guest time is part of user
/// time there and is not counted again; waiting for I/O is idle time.
struct CpuTicks {
  std::int64_t busy = 0;
  std::int64_t idle = 0;
  std::int64_t steal = 0;
  std::int64_t interrupts = 0;  // of busy
};
base::Result<CpuTicks> ParseCpuTicks(std::string_view stat_text);

/// /proc/PID/stat. The name stands in parentheses and may hold some itself.
struct ProcessTicks {
  int pid = 0;
  int parent = 0;
  std::string name;               // printable
  std::int64_t own = 0;           // user and system, clock ticks
  std::int64_t children = 0;      // those that have ended and were waited for
  std::int64_t start = 0;         // since boot: tells a reused number
  std::int64_t major_faults = 0;  // pages that had to come from a disk
};
base::Result<ProcessTicks> ParseProcessTicks(std::string_view stat_text);

/// /proc/PID/io: bytes that the process had storage read or write, less those
/// that it took back before they were written (proc_pid_io(5)).
base::Result<std::int64_t> ParseDiskBytes(std::string_view io_text);

/// "some" of a file below /proc/pressure: total microseconds of stall.
base::Result<std::int64_t> ParsePressureTotalUs(std::string_view text);

}  // namespace probes
