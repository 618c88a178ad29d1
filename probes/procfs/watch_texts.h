// SPDX-License-Identifier: Apache-2.0
//
// Parsers of the texts that only watching reads: every disk, every link, open files.

#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "probes/procfs/socket_queues.h"

namespace probes {

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

/// "RcvbufErrors" of UDP in /proc/net/snmp: datagrams that no program took in time.
std::optional<std::int64_t> ParseDatagramsDropped(std::string_view snmp_text);

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

/// Ticks that each CPU of /proc/stat served interrupts, soft ones too, in the kernel's order.
std::vector<std::int64_t> ParseInterruptTicks(std::string_view stat_text);

/// The letter of a process's state in /proc/PID/stat, 0 where there is none.
char ParseProcessState(std::string_view stat_text);

/// /proc/PID/fdinfo/FD of any file (https://docs.kernel.org/filesystems/proc.html, 3.8).
struct OpenFile {
  std::int64_t position = 0;
  bool for_writing = false;
  int mount = 0;  // number in /proc/PID/mountinfo
};
std::optional<OpenFile> ParseOpenFile(std::string_view fdinfo_text);

/// Bytes that a process or thread handed to write calls: "wchar" of /proc/PID/io.
std::optional<std::int64_t> ParseWrittenChars(std::string_view io_text);

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
