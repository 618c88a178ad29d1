// SPDX-License-Identifier: Apache-2.0
//
// Who holds a lock, from what the kernel tells: no file can claim it. Pure.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace cli {

/// What tells a file from all others.
struct FileIdentity {
  unsigned major = 0;  // of the device that it lies on
  unsigned minor = 0;
  std::uint64_t inode = 0;
};

/// The process that holds the flock(2) of a file, by /proc/locks; nothing where nobody does, or
/// nobody who can be seen from here.
std::optional<int> FlockHolder(std::string_view proc_locks, const FileIdentity& file);

/// Seconds since 1970 at which a process began, by /proc/PID/stat and the "btime" of /proc/stat.
std::optional<std::int64_t> BeganAt(std::string_view process_stat, std::string_view proc_stat,
                                    std::int64_t ticks_per_second);

/// "rigproof qualify": the program and its command, and nothing else of /proc/PID/cmdline, which
/// may name what is private to another user.
std::string CommandOf(std::string_view cmdline);

}  // namespace cli
