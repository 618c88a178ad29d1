// SPDX-License-Identifier: Apache-2.0
//
// Parsers of the counters that only telemetry reads.

#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "probes/procfs/proc_texts.h"

namespace probes {

/// The lines "cpu0", "cpu1" ... of /proc/stat, in the kernel's order; CPUs that
/// are offline have none.
base::Result<std::vector<CpuTicks>> ParseCoreTicks(std::string_view stat_text);

/// What one disk has done since it appeared; "weighted" is time multiplied by requests in flight.
struct DiskTotals {
  std::int64_t sectors_read = 0;
  std::int64_t writes = 0;  // finished
  std::int64_t sectors_written = 0;
  std::int64_t write_ms = 0;  // sum over finished writes
  std::int64_t busy_ms = 0;
  std::int64_t weighted_ms = 0;
};

/// The line of `device` in /proc/diskstats
/// (https://docs.kernel.org/admin-guide/iostats.html). Sectors are of 512 bytes.
base::Result<DiskTotals> ParseDiskTotals(std::string_view diskstats_text, std::string_view device);

/// Counters of /proc/vmstat since start; absent where the kernel has none.
struct MemoryEvents {
  std::optional<std::int64_t> pages_swapped_in;
  std::optional<std::int64_t> pages_swapped_out;
  std::optional<std::int64_t> reclaim_stalls;  // "allocstall" of all zones
};
MemoryEvents ParseVmStat(std::string_view text);

/// Times that a memory group met its limit: memory.events of version 2 ("max"
/// and "high"), or the single number of version 1's memory.failcnt.
std::optional<std::int64_t> ParseLimitHits(std::string_view text);

/// Periods of a CPU quota, from cpu.stat of either version.
struct QuotaPeriods {
  std::int64_t all = 0;
  std::int64_t throttled = 0;
};
std::optional<QuotaPeriods> ParseQuotaPeriods(std::string_view cpu_stat_text);

/// TCP segments sent again, from /proc/net/snmp.
base::Result<std::int64_t> ParseRetransmits(std::string_view snmp_text);

/// Bytes received and sent by each link but loopback, from /proc/net/dev.
base::Result<std::map<std::string, std::int64_t>> ParseLinkBytes(std::string_view net_dev_text);

/// Errors and drops of all links but loopback, received and sent, from /proc/net/dev.
base::Result<std::int64_t> ParseLinkLosses(std::string_view net_dev_text);

/// /proc/PID/task/TID/schedstat: ns on a CPU, and ns ready to run without one
/// (https://docs.kernel.org/scheduler/sched-stats.html).
struct ThreadTimes {
  std::int64_t run_ns = 0;
  std::int64_t wait_ns = 0;
};
std::optional<ThreadTimes> ParseThreadTimes(std::string_view schedstat_text);

}  // namespace probes
