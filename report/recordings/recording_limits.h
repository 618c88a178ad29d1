// SPDX-License-Identifier: Apache-2.0
//
// Lengths at which files stop growing because something does not let them.

#pragma once

#include <cstdint>

namespace report {

inline constexpr double kKnownLimit = 2;
inline constexpr double kWholeMebibytes = 1;

/// How a file of so many bytes ends where a limit would end it. kKnownLimit: at 2 GiB - 1 (a
/// program without large files) or 4 GiB - 1 (the FAT file system). kWholeMebibytes: as limits of
/// processes (RLIMIT_FSIZE) and quotas are given; by chance a file does so once in a million.
/// 0: it does not.
inline double SizeLimitOf(std::int64_t bytes) {
  constexpr std::int64_t kMebi = 1 << 20;
  constexpr std::int64_t kGibi = 1 << 30;
  if (bytes == 2 * kGibi - 1 || bytes == 4 * kGibi - 1) {
    return kKnownLimit;
  }
  return bytes > 0 && bytes % kMebi == 0 ? kWholeMebibytes : 0;
}

}  // namespace report
