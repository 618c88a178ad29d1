// SPDX-License-Identifier: Apache-2.0
//
// Texts below /proc about the whole PC: CPUs, memory, pressure, disks, links.

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

/// One line of /proc/stat, in clock ticks. Guest time is part of user
/// time there and is not counted again; waiting for I/O is idle time.
struct CpuTicks {
  std::int64_t busy = 0;
  std::int64_t idle = 0;
  std::int64_t steal = 0;
  std::int64_t interrupts = 0;  // of busy; soft ones too
};
struct StatTicks {
  CpuTicks all;
  std::vector<CpuTicks> cores;  // that are online, in the kernel's order; empty: not readable
};
base::Result<StatTicks> ParseStatTicks(std::string_view stat_text);

/// Number of the process or thread that was made last: /proc/loadavg.
std::optional<std::int64_t> ParseNewestNumber(std::string_view loadavg_text);

/// Counters of /proc/vmstat since start; absent where the kernel has none.
struct MemoryEvents {
  std::optional<std::int64_t> pages_swapped_in;
  std::optional<std::int64_t> pages_swapped_out;
  std::optional<std::int64_t> reclaim_stalls;  // "allocstall" of all zones
};
MemoryEvents ParseVmStat(std::string_view text);

/// "some" of a file below /proc/pressure: total microseconds of stall
/// (https://docs.kernel.org/accounting/psi.html).
base::Result<std::int64_t> ParsePressureTotalUs(std::string_view text);

/// What a disk has done since it appeared; "weighted" is time multiplied by requests in flight.
struct DiskCounters {
  std::string_view name;   // in the text
  std::int64_t reads = 0;  // finished
  std::int64_t sectors_read = 0;
  std::int64_t read_ms = 0;  // sum over finished reads
  std::int64_t writes = 0;
  std::int64_t sectors_written = 0;
  std::int64_t write_ms = 0;
  std::int64_t busy_ms = 0;
  std::int64_t weighted_ms = 0;
};
/// All lines of /proc/diskstats that are whole, partitions too
/// (https://docs.kernel.org/admin-guide/iostats.html). Sectors are of 512 bytes.
void ParseDisks(std::string_view diskstats_text, std::vector<DiskCounters>& disks);

/// One link of /proc/net/dev. Errors and drops are of both ways.
struct LinkCounters {
  std::string_view name;  // in the text
  std::int64_t received_bytes = 0;
  std::int64_t sent_bytes = 0;
  std::int64_t errors = 0;
  std::int64_t drops = 0;
};
/// All but loopback.
void ParseLinks(std::string_view net_dev_text, std::vector<LinkCounters>& links);

/// Of /proc/net/snmp; absent where it has no such column.
struct ProtocolCounters {
  std::optional<std::int64_t> tcp_sent_again;  // segments
  std::optional<std::int64_t> udp_not_taken;   // datagrams that no program took in time
};
ProtocolCounters ParseProtocols(std::string_view snmp_text);

}  // namespace probes
