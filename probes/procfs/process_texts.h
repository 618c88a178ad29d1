// SPDX-License-Identifier: Apache-2.0
//
// Texts below /proc about one process: times, what it reads and writes, open files, sockets.

#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.h"
#include "probes/procfs/socket_queues.h"

namespace probes {

/// /proc/PID/stat. The name stands in parentheses and may hold some itself.
struct ProcessTicks {
  int pid = 0;
  int parent = 0;
  std::string name;  // printable
  char state = 0;    // as the kernel writes it: 'R', 'T'
  int threads = 0;
  std::int64_t own = 0;           // user and system, clock ticks
  std::int64_t children = 0;      // those that have ended and were waited for
  std::int64_t start = 0;         // since boot: tells a reused number
  std::int64_t major_faults = 0;  // pages that had to come from a disk
};
base::Result<ProcessTicks> ParseProcessTicks(std::string_view stat_text);

/// /proc/PID/task/TID/schedstat: ns on a CPU, and ns ready to run without one
/// (https://docs.kernel.org/scheduler/sched-stats.html).
struct ThreadTimes {
  std::int64_t run_ns = 0;
  std::int64_t wait_ns = 0;
};
std::optional<ThreadTimes> ParseThreadTimes(std::string_view schedstat_text);

/// Of /proc/PID/io or that of a thread (proc_pid_io(5)); absent where it does not tell.
struct ProcessIo {
  std::optional<std::int64_t> written_chars;  // handed to write calls
  std::optional<std::int64_t> disk_bytes;  // that storage read or wrote for it, less those that it
                                           // took back before they were written
};
ProcessIo ParseProcessIo(std::string_view io_text);

/// Resident pages: /proc/PID/statm.
std::optional<std::int64_t> ParseResidentPages(std::string_view statm_text);

/// Bytes that wait in sending TCP sockets: "tx_queue" of those rows of /proc/net/tcp or tcp6 that
/// are established and whose inode is in `sockets`
/// (https://docs.kernel.org/networking/proc_net_tcp.html); nothing when no row is.
std::optional<std::int64_t> ParseSendQueues(std::string_view tcp_text,
                                            const std::set<std::int64_t>& sockets);

/// The ends of those rows, of tcp6 where addresses have 32 digits.
std::vector<TcpEnds> ParseConnections(std::string_view tcp_text,
                                      const std::set<std::int64_t>& sockets);

/// "socket:[4711]" -> 4711: where a descriptor of a socket leads.
std::optional<std::int64_t> ParseSocketLink(std::string_view target);

/// /proc/PID/fdinfo/FD of any file (https://docs.kernel.org/filesystems/proc.html, 3.8).
struct OpenFile {
  std::int64_t position = 0;
  bool for_writing = false;
  int mount = 0;  // number in /proc/PID/mountinfo
};
std::optional<OpenFile> ParseOpenFile(std::string_view fdinfo_text);

/// The call in which a thread sleeps, and its first argument: /proc/PID/task/TID/syscall
/// (proc_pid_syscall(5)); nothing when it runs.
std::optional<std::pair<std::int64_t, std::int64_t>> ParseSystemCall(std::string_view text);

/// Times of one engine of a graphics adapter that a client used.
struct DrmEngine {
  std::string name;               // "video", "render"
  std::int64_t busy_ns = 0;       // of drivers that count time
  std::int64_t busy_cycles = 0;   // of drivers that count cycles
  std::int64_t total_cycles = 0;  // that went by; 0: it counts time
  std::int64_t capacity = 1;      // equal engines behind the name
};
/// /proc/PID/fdinfo/FD of a graphics device
/// (https://docs.kernel.org/gpu/drm-usage-stats.html).
struct DrmClient {
  std::string driver;
  std::string device;  // PCI address; empty: not told
  std::int64_t id = 0;
  std::vector<DrmEngine> engines;
};
/// Nothing when the text is of no graphics device. At most 64 engines.
std::optional<DrmClient> ParseDrmClient(std::string_view fdinfo_text);

}  // namespace probes
