// SPDX-License-Identifier: Apache-2.0
//
// Lengths at which files stop growing because something does not let them.

#pragma once

#include <cstdint>

namespace report {

/// Whether a file of so many bytes ends exactly where a limit would end it: 2 GiB - 1 (a program
/// without large files), 4 GiB - 1 (the FAT file system), or whole MiB, as limits of processes
/// (RLIMIT_FSIZE) and quotas are given. By chance a file does so once in a million.
inline bool IsSizeLimit(std::int64_t bytes) {
  constexpr std::int64_t kMebi = 1 << 20;
  constexpr std::int64_t kGibi = 1 << 30;
  return bytes > 0 && (bytes == 2 * kGibi - 1 || bytes == 4 * kGibi - 1 || bytes % kMebi == 0);
}

}  // namespace report
